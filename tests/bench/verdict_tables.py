"""The tables of the verdicts bench: words, confusions, faithful passes, timing, and mistakes one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from tests.bench.performances import FAITHFUL
from tests.bench.shares import Share, share
from tests.bench.verdict_errors import confused
from tests.bench.verdict_scores import UNCLEAR, WORDS, Compared, Item, WordScore, word_score

ENOUGH = 0.98
"""What precision and recall of each word are to reach."""

AT_MOST = 0.03
"""What blamed faithful passes and unclear notes are to stay under."""

_SEVEN = {"sounded": "sounded", "landed": "seven landed", "swallowed": "swallowed", "where": "resolution"}
_MEASURES = (("lean", "lean_ms", "ms"), ("spread", "spread_ms", "ms"), ("bounce", "bounce", ""))


def tables(sound: str, found: Sequence[Compared], took_sec: float) -> Iterator[str]:
    """All tables of one sound.

    Parameters
    ----------
    sound : str
    found : sequence of Compared
        At least one.
    took_sec : float
        From the first to the last.

    Yields
    ------
    str
    """
    licks = {one.grid.lick.id: one.grid.lick.key for one in found}
    keys = ", ".join(sorted(set(licks.values())))
    tempos = [one.planned.tempo_half_bpm / one.grid.lick.top_tempo_half_bpm for one in found]
    yield (
        f"{sound}: {len(found)} performances of {len(licks)} lick{'s' * (len(licks) > 1)} in {keys} "
        f"at {min(tempos):.2f} to {max(tempos):.2f} of top tempo"
    )
    yield _times(found, took_sec)
    yield (
        f"  {'':22} {'true':>6} {'said':>6}  {'precision [90 %]':28}  {'recall [90 %]':28}  "
        f"{'unclear':>7}  {'all':>6}  errors, at a limit"
    )
    for kind, words in WORDS.items():
        for word in words:
            yield f"  {word_line(word_score(found, kind, word))}"
    for kind in ("note", "resolution"):
        yield f"  {kind}s taken for another: {confused(found, kind)}"
    yield from (f"  {line}" for line in summary(found))
    for name in dict.fromkeys(one.planned.mutation for one in found):
        yield f"  {mistake_line(name, [one for one in found if one.planned.mutation == name])}"
    yield f"  {mistake_line('all', found)}"


def word_line(score: WordScore) -> str:
    """One row of the words."""
    name = score.word if score.word == score.kind else f"{score.kind} {score.word}"
    unclear, of_all = (f"{s.value:.4f}" if s.of else "-" for s in (score.unclear, score.recall_of_all))
    return (
        f"{name:22} {score.true:6} {score.said:6}  {_marked(score.precision):28}  "
        f"{_marked(score.recall):28}  {unclear:>7}  {of_all:>6}  {score.errors}, {score.at_limit}"
        + ("" if score.true else "  < never true")
    )


def summary(found: Sequence[Compared]) -> Iterator[str]:
    """How often faithful passes are blamed, what is unclear, and how far timing is off."""
    clean = [(one, _of(one, "clean")[0]) for one in found if one.planned.mutation == FAITHFUL]
    clean = [(one, item) for one, item in clean if item.played == "yes"]
    if clean:
        blamed = share([item.said == "no" for _, item in clean], [1] * len(clean))
        neither = sum(item.said == UNCLEAR for _, item in clean)
        yield f"faithful passes called not clean {_told(blamed)}, neither {neither}"
    for of, some in (("all", found), ("faithful", [one for one, _ in clean])):
        notes = [_of(one, "note") for one in some]
        if notes:
            unclear = share([_said(row, UNCLEAR) for row in notes], [len(row) for row in notes])
            yield f"notes called unclear, of {of} passes {_told(unclear)}"
    lost = [item for one in found for item in _of(one, "note") if item.played == UNCLEAR]
    blamed_in_vain = sum(item.said in ("missed", "wrong") for item in lost)
    yield f"notes unclear in truth, and left out above: {len(lost)}, said missed or wrong {blamed_in_vain}"
    offs = []
    for name, field, unit in _MEASURES:
        pairs = [
            (getattr(o.truth.outcome.timing, field), getattr(o.said.outcome.timing, field)) for o in found
        ]
        off = np.array([abs(said - played) for played, said in pairs if None not in (played, said)])
        if len(off):
            digits = 1 if unit else 3
            at = " ".join(f"{np.percentile(off, q):.{digits}f}" for q in (50, 95, 100))
            offs.append(f"{name} {at} {unit}".rstrip())
    yield f"off by (median, 95 %, most): {', '.join(offs) or 'nothing was measured'}"


def mistake_line(name: str, found: Sequence[Compared]) -> str:
    """The row of one mistake; the columns are those of `tests.bench.verdicts`."""
    sevens = [item for one in found for item in _of(one, "sounded")]
    parts = []
    for label, kind in _SEVEN.items():
        told = [item for one in found for item in _of(one, kind) if item.said != UNCLEAR]
        same = sum(item.played == item.said for item in told)
        parts.append(f"{label} {same / len(told):.3f}" if told else f"{label} -    ")
    clean = [item for one in found for item in _of(one, "clean")]
    called = [
        f"{_said([item for item in clean if item.played == truly], 'yes'):3}/"
        f"{sum(item.played == truly for item in clean):<3}"
        for truly in ("yes", "no")
    ]
    notes = [item for one in found for item in _of(one, "note")]
    same = sum(item.played == item.said for item in notes)
    return (
        f"{name:<18} {len(found):4}  sevens {len(sevens):4}  {'  '.join(parts)}  "
        f"unclear {_said(sevens, UNCLEAR) / max(1, len(sevens)):.3f}  clean {' '.join(called)}  "
        f"notes {same / max(1, len(notes)):.4f} unclear {_said(notes, UNCLEAR) / max(1, len(notes)):.4f}"
    )


def _times(found: Sequence[Compared], took_sec: float) -> str:
    made = [one.render_sec for one in found if not one.kept]
    kept = [one.render_sec for one in found if one.kept]
    parts = [f"{took_sec:.0f} s"]
    for what, times in (("made", made), ("kept", kept), ("listened", [one.listen_sec for one in found])):
        if times:
            parts.append(f"{what} {len(times)} at {1e3 * float(np.mean(times)):.0f} ms")
    return f"  {', '.join(parts)}"


def _of(one: Compared, kind: str) -> list[Item]:
    return [item for item in one.items if item.kind == kind]


def _said(items: Sequence[Item], word: str) -> int:
    return sum(item.said == word for item in items)


def _marked(of: Share) -> str:
    return f"{of} < under" if of.of and of.value < ENOUGH else str(of)


def _told(of: Share) -> str:
    over = " > over" if of.value > AT_MOST else ""
    return f"{of.hits:.0f} of {of.of:.0f}, {of}{over}"
