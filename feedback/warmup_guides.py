"""What is said of a warm-up that is about sevens: where they failed most, how, and what to do about it.

The problem: thirty sevens in three minutes, and one sentence. So they are counted in the places that the
warm-up is about (its chords, its slurs, its eighths), and the place that stands out is named with what mostly
befell it there, and with how the others went. Where none stands out it is said of all of them together, and
what is said of all says how many places it is true of.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from types import MappingProxyType

from feedback.judges.timing import spread_sec
from feedback.warmup_faults import OFF_TIME, Fault, Kind, worst
from feedback.warmup_remedies import FINGERS, remedy
from feedback.warmup_rows import ROWS, Row
from feedback.warmup_time import UNEVEN_MS, spread_ms
from feedback.warmup_told import FEWEST, Guide, Told, guides
from routines.warmups.steps import Watched

_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "silent": "was not heard",
        "wrong": "was another note",
        "swallowed": "was swallowed",
        "amiss": "was not as asked",
        "early": "came early",
        "late": "came late",
        "uneven": "came now early, now late",
        "hanging": "did not {go}{to} in its place",
        "fell late": "{went}{to} late",
        "fell early": "{went}{to} too soon",
        "fell uneven": "{went}{to} now too soon, now late",
        "unclear": "could not be told from the rest",
    }
)
"""How a guide tone failed."""

_ELSEWHERE: Mapping[Kind, str] = MappingProxyType(
    {"there": "were there", "falls": "went where they should", "time": "came in time", "told": "were clear"}
)
"""What is said of those elsewhere that did not fail in this way."""


_MOST_NAMED = 3
"""So many places are named where it is said of all together."""

_NUMBERS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight")


def of_sevens(watched: Watched, passes: Sequence[Told]) -> str:
    """Say the one thing worth acting on.

    Parameters
    ----------
    watched : Watched
        A key of `ROWS`.
    passes : sequence of Told
    """
    row = ROWS[watched]
    found = looked_at(row, passes)
    if said := what_failed(row, found, passes):
        return f"{said[0].upper()}{said[1:]}."
    leans = _leans_most(row, found) if watched == "places" else ""
    return f"{_went_well(row, found)}{leans}."


def looked_at(row: Row, passes: Sequence[Told]) -> list[Guide]:
    """The guide tones that a row looks at."""
    return [guide for guide in guides(passes, thirds=row.thirds) if row.counts(guide)]


def what_failed(row: Row, found: Sequence[Guide], passes: Sequence[Told]) -> str:
    """Say what failed most, where, and what helps; the beginning of a sentence, empty where nothing did.

    Where all is uneven, no place is told to be early or late.

    Parameters
    ----------
    row : Row
    found : sequence of Guide
        Those that the row looks at.
    passes : sequence of Told
        Those in which they stand.
    """
    fault = worst(found, [row.place, *row.wider])
    if fault is None or fault.way in OFF_TIME:
        uneven = spread_ms([one for one in passes if one.clear]) or 0.0
        if uneven > UNEVEN_MS:
            return f"the spread was {uneven:.0f} ms: take it slower until it is even"
    return "" if fault is None else _in_words(row, fault)


def _in_words(row: Row, fault: Fault) -> str:
    """Say what befell a place, how often, how it is elsewhere, and what helps."""
    one = _is_one(fault.guides)
    every = fault.guides[0].name if one else row.one
    subject = f"{fault.name} {every}" if fault.level and fault.name else fault.name or every
    helps = row.remedies.get(fault.way) or remedy(fault.way, fault.guides)
    said = f"{subject} {_WORDS[fault.way]} in {len(fault.guides)} of {fault.asked}"
    return f"{said}{_beside(row, fault)}: {helps}".format(**_named(fault.guides, one=one))


def _beside(row: Row, fault: Fault) -> str:
    """How it is elsewhere; or where it is so, or in how many places, where these are many."""
    if fault.name:
        if fault.asked_elsewhere < FEWEST:
            return ""
        return f", elsewhere {fault.right_elsewhere} of {fault.asked_elsewhere} {_ELSEWHERE[fault.kind]}"
    if len(fault.failing) == fault.places:
        every = "both" if fault.places == 2 else f"all {_number(fault.places)}"
        return f", {row.every.format(every)}"
    mostly = "" if fault.only else "mostly "
    if len(fault.failing) > _MOST_NAMED:
        return f", {mostly}{row.every.format(f'{_number(len(fault.failing))} of {_number(fault.places)}')}"
    names = [row.where(guide).rstrip(",") for guide in fault.failing]
    if len(set(names)) < len(names) or not all(names):
        names = [row.place(guide) for guide in fault.failing]
    *first, last = names
    if first:
        return f", {mostly}{', '.join(first)} and {last}"
    return f", {mostly}{last}" if mostly else f", {last} alone"


def _number(number: int) -> str:
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def _is_one(some: Iterable[Guide]) -> bool:
    """Whether these are one and the same note each time."""
    return len({(guide.note.string, guide.note.fret, guide.due) for guide in some}) == 1


def _named(some: Sequence[Guide], *, one: bool) -> Mapping[str, str]:
    """What the words have in their braces; where they are several notes none of them is named."""
    guide, rises = some[0], {guide.rises for guide in some}
    fret = f"string {guide.note.string} at fret {guide.note.fret}"
    go, went = (
        {False: ("fall", "fell"), True: ("rise", "rose")}[guide.rises]
        if len(rises) == 1
        else ("move", "moved")
    )
    return {
        "name": guide.name if one else "it is there",
        "to": f" to {guide.due}" if one and guide.due else "",
        "change": f"{guide.name} and {guide.due}" if one and guide.due else "one such change",
        "go": go,
        "went": went,
        "place": (fret if guide.note.fret else f"the open string {guide.note.string}") if one else "it",
        "finger": FINGERS.get(guide.note.finger, "finger"),
    }


def _leans_most(row: Row, found: Sequence[Guide]) -> str:
    """Where nothing failed: the one place at which it comes early or late, as a fact and no fault."""
    rests: dict[str, list[float]] = {}
    for guide in found:
        if guide.rest_ms is not None:
            rests.setdefault(row.where(guide), []).append(guide.rest_ms)
    medians = {where: median(there) for where, there in rests.items() if len(there) >= FEWEST}
    where = max(medians, key=lambda name: abs(medians[name]), default="")
    spread = spread_sec([rest for name, there in rests.items() if name != where for rest in there]) or 0.0
    if not where or abs(medians[where]) < max(1e3 * found[0].told.window_sec / 2, spread):
        return ""
    way = "early" if medians[where] < 0 else "late"
    return f"; {where} it came {abs(medians[where]):.0f} ms {way}, the median of {len(rests[where])}"


def _went_well(row: Row, found: Sequence[Guide]) -> str:
    clear = [guide for guide in found if guide.sounding != "unclear"]
    if len(clear) < FEWEST:
        return f"Too few {row.many} could be heard clearly to tell how they went"
    falls = [guide for guide in clear if guide.falling not in (None, "unclear")]
    there, fell = sum(one.sounding == "right" for one in clear), sum(one.falling == "right" for one in falls)
    said = f"{_of(there, len(clear))} {row.many} were heard in time"
    if falls:
        rises = any(guide.rises for guide in falls)
        due, went = ("move", "moved") if rises else ("fall", "fell")
        said += f", and {_of(fell, len(falls)).lower()} that were to {due} {went} in their place"
    unclear = sum("unclear" in (guide.sounding, guide.falling) for guide in found)
    said += f"; {unclear} could not be told" if unclear else ""
    slips = len(clear) - there + len(falls) - fell
    return said + (": one slip, no habit" if slips == 1 else ": slips, no habit" if slips else "")


def _of(some: int, whole: int) -> str:
    return f"All {whole}" if some == whole else f"{some} of {whole}"
