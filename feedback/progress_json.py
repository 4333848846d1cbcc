"""Progress for programs: one JSON object with every fact of the text, and rows of cells for spreadsheets.

Conventions: what is not known is null, in cells empty. A rate is null where the text has a dash; the counts
it was made of stand beside it. The rows have one heading: what a row is of stands in its first column, and
what does not apply to it is empty. Cells that a spreadsheet would take for a formula begin with an apostrophe
(`routines.journal.texts.marked`), negative numbers too.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from routines.journal.texts import marked
from routines.progress.names import item_name
from routines.progress.types import ChordProgress, GuideCounts, ItemProgress, KeyProgress, Progress

_DIGITS = 4
_RATES = ("sounded_rate", "landed_rate", "swallowed_rate", "resolved_rate")


def as_json(progress: Progress) -> dict[str, Any]:
    """Progress as one object.

    Parameters
    ----------
    progress : Progress

    Returns
    -------
    dict
        Plain values, in the order of the text.
    """
    found = {
        name: getattr(progress, name)
        for name in (
            "sentence", "player", "asked_for", "asked_kind", "first_day", "today", "began",
            "minutes_week", "passes_week", "minutes_span", "passes_span", "minutes_all", "passes_all",
        )
    }  # fmt: skip
    found |= {
        "licks": [_item(one) for one in progress.items],
        "warm_ups": [asdict(one) for one in progress.warm_ups],
        "keys": [_key(one) for one in progress.keys],
        "chords": [_chord(one) for one in progress.chords],
        "weeks": [asdict(one) for one in progress.weeks],
    }
    rounded: dict[str, Any] = _rounded(found)
    return rounded


def as_csv(progress: Progress) -> str:
    """Progress as rows of cells (RFC 4180): licks with home and edge over time, keys, chords, weeks.

    Parameters
    ----------
    progress : Progress

    Returns
    -------
    str
        A heading and the rows; lines end as the format asks.
    """
    rows = list(_rows(as_json(progress)))
    columns = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows([marked(_cell(row.get(name))) for name in columns] for row in rows)
    return out.getvalue()


def _item(one: ItemProgress) -> dict[str, Any]:
    return {
        "name": item_name(one.item, one.title),
        "lick": one.item.lick,
        "key": one.item.key,
        "unit": one.item.unit,
        **{
            name: getattr(one, name)
            for name in (
                "title", "how_far", "top_half_bpm", "home_half_bpm", "edge_half_bpm", "reach_half_bpm",
                "levels_as_of", "passes", "clean", "unclean", "minutes", "last_day", "lean_ms", "bounce",
                "spread_ms",
            )
        },
        "sevens": _guides(one.guides),
        "thirds": _guides(one.thirds),
        "levels": [
            {
                "day": day.day,
                "home_half_bpm": day.home_half_bpm,
                "edge_half_bpm": day.edge_half_bpm,
                "reach_half_bpm": day.reach_half_bpm,
            }
            for day in one.levels
        ],
        "points": [asdict(point) for point in one.points],
    }  # fmt: skip


def _key(one: KeyProgress) -> dict[str, Any]:
    found = {**asdict(one), "sevens": _guides(one.guides)}
    del found["guides"]
    return found


def _chord(one: ChordProgress) -> dict[str, Any]:
    found = {**asdict(one), "falls_to": list(one.falls_to), **_guides(one.guides)}
    del found["guides"]
    return found


def _guides(guides: GuideCounts) -> dict[str, Any]:
    return {**asdict(guides), **{name: getattr(guides, name) for name in _RATES}}


def _rows(found: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Each row by the names of its columns."""
    yield {
        "what": "player",
        "name": found["player"],
        "sentence": found["sentence"],
        **{name: found[name] for name in ("asked_for", "asked_kind", "first_day", "today", "began")},
        "minutes": found["minutes_span"],
        "passes": found["passes_span"],
        **{name: found[name] for name in ("minutes_week", "passes_week", "minutes_all", "passes_all")},
    }
    for lick in found["licks"]:
        plain = {
            name: value
            for name, value in lick.items()
            if name not in ("sevens", "thirds", "levels", "points")
        }
        yield {
            "what": "lick",
            **plain,
            **lick["sevens"],
            **{f"third_{name}": n for name, n in lick["thirds"].items()},
        }
        yield from ({"what": "level", "name": lick["name"], **day} for day in lick["levels"])
        yield from ({"what": "tempo", "name": lick["name"], **point} for point in lick["points"])
    for one in found["warm_ups"]:
        yield {"what": "warm-up", **one}
    for one in found["keys"]:
        plain = {name: value for name, value in one.items() if name != "sevens"}
        yield {"what": "key", "name": one["key"], **plain, **one["sevens"]}
    for one in found["chords"]:
        yield {"what": "chord", "name": one["chord"], **one, "falls_to": "; ".join(one["falls_to"])}
    for one in found["weeks"]:
        yield {"what": "week", "name": one["first_day"], **one}


def _cell(value: Any) -> str:
    return "" if value is None else str(value)


def _rounded(value: Any) -> Any:
    """The same with no more digits than a reader can use."""
    if isinstance(value, float):
        return round(value, _DIGITS)
    if isinstance(value, dict):
        return {name: _rounded(one) for name, one in value.items()}
    if isinstance(value, list):
        return [_rounded(one) for one in value]
    return value
