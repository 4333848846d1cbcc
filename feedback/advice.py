"""The one sentence after a turn of passes: one place, and one thing to do.

The order is fixed: a seven not sounded; swallowed; left hanging; hurry at the change; uneven; late; lean.
Each is a row of `_ROWS`. A fault is named where it stands in at least half of the passes; hurry only in three
of four, and so never after fewer than three. Passes in which too much was unclear count neither way. Two rows
are ours: a resolution in another octave stands with the one left hanging, and a wrong or missing note stands
between late and lean, since a lean is a habit and no fault. Praise is given only for what was measured, and
with too little heard, or too few passes, the sentence says what cannot be told.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from feedback.looking import beside, hurried_notes, left_out, seven_and_due
from feedback.praising import FEWEST_TO_TELL, praise
from feedback.turn import SHARE, Turn, wander_ms
from feedback.words import late_words, tone_name
from routines.lick import Lick

HURRIED_SHARE = 0.75
FEWEST_OF_A_BANJO = 5
"""Notes from which something was surely heard."""

_HAIR_MS = 1e-6


@dataclass(frozen=True, slots=True)
class Advice:
    """What is said after a turn.

    Attributes
    ----------
    sentence : str
    look_at : tuple of int
        The notes of the lick that it is about, by place; empty where it is about none or about all.
    """

    sentence: str
    look_at: tuple[int, ...] = ()


def sentence(lick: Lick, passes: Sequence[Judged], limits: Limits) -> str:
    """Say the one thing worth acting on, as `advised`."""
    return advised(lick, passes, limits).sentence


def advised(lick: Lick, passes: Sequence[Judged], limits: Limits) -> Advice:
    """Say the one thing worth acting on, and which notes it is about.

    Parameters
    ----------
    lick : Lick
    passes : sequence of Judged
        One or more passes of a turn, all at one tempo.
    limits : Limits

    Returns
    -------
    Advice
        Its sentence is one.
    """
    found = [p for p in passes if p.outcome.start_sec is not None]
    if all(note.verdict in ("missed", "unclear") for p in found for note in p.outcome.notes):
        return Advice(_nothing_found(passes))
    told = [p for p in found if p.outcome.clean is not None]
    if not told:
        return Advice("Too much was unclear to tell: come closer to the microphone and play it once more.")
    turn = Turn(lick, told, limits)
    for row in _ROWS:
        said = row(turn)
        if said is not None:
            return said
    return Advice(praise(turn))


def _nothing_found(passes: Sequence[Judged]) -> str:
    heard = max((judged.heard_notes for judged in passes), default=0)
    if heard < FEWEST_OF_A_BANJO:
        return (
            "I did not hear this lick: check that the banjo reaches the microphone, then play it once more."
        )
    return (
        f"I heard {heard} notes, but not this lick where it was looked for: check the lick, its tempo and "
        "start, and the tuning."
    )


def _not_sounded(turn: Turn) -> Advice | None:
    def marks(judged: Judged) -> list[int]:
        return [s.index for s in judged.outcome.sevenths if s.sounded is False]

    index = turn.most_often(marks)
    if index is None:
        return None
    note = turn.lick.notes[index]
    said = (
        f"{turn.name(index)} over {turn.chord(index)} ({turn.where(index)}) was not heard"
        f"{turn.how_often(index, marks)}, left out or too soft to tell: play up to it slowly and let string "
        f"{note.string}, fret {note.fret} speak before you go on."
    )
    return Advice(said, (index,))


def _swallowed(turn: Turn) -> Advice | None:
    def marks(judged: Judged) -> list[int]:
        return [s.index for s in judged.outcome.sevenths if s.swallowed]

    index = turn.most_often(marks)
    if index is None:
        return None
    note = turn.lick.notes[index]
    remedy = "thumb it" if note.picked and note.finger != "T" else "lean on it"
    said = (
        f"{turn.name(index)} {turn.at(index)} is there but soft, swallowed by the roll"
        f"{turn.how_often(index, marks)}: {remedy}."
    )
    return Advice(said, (index,))


def _hanging(turn: Turn) -> Advice | None:
    def marks(judged: Judged) -> list[int]:
        return [s.index for s in judged.outcome.sevenths if s.resolution == "hanging"]

    index = turn.most_often(marks)
    if index is None:
        return None
    said = (
        f"{turn.name(index)} over {turn.chord(index)} was left hanging{turn.how_often(index, marks)}: "
        f"play only the change, {turn.name(index)} to {turn.due_name(index)}{turn.due_at(index)}."
    )
    return Advice(said, seven_and_due(turn, index))


def _other_octave(turn: Turn) -> Advice | None:
    def marks(judged: Judged) -> list[int]:
        return [s.index for s in judged.outcome.sevenths if s.resolution == "octave" and s.as_asked is False]

    index = turn.most_often(marks)
    if index is None:
        return None
    due = turn.due_name(index)
    said = (
        f"{turn.name(index)} over {turn.chord(index)} went to {due} in another octave"
        f"{turn.how_often(index, marks)}: take the {due} right below it{turn.due_at(index)}."
    )
    return Advice(said, seven_and_due(turn, index))


def _hurried(turn: Turn) -> Advice | None:
    hurried = [p for p in turn.passes if p.hurried]
    if len(hurried) < max(FEWEST_TO_TELL, HURRIED_SHARE * len(turn.passes)):
        return None
    ms = median(p.outcome.timing.hurry_at_change_ms or 0.0 for p in hurried)
    said = (
        f"You hurry at the change, {-ms:.0f} ms ahead of the notes before it: count through the bar line and "
        "let the last eighth have its length."
    )
    return Advice(said, hurried_notes(turn, hurried))


def _uneven(turn: Turn) -> Advice | None:
    spreads = [p.outcome.timing.spread_ms for p in turn.passes if p.outcome.timing.spread_ms is not None]
    window_ms = 1e3 * turn.limits.window_sec(turn.eighth_sec)
    if not spreads or median(spreads) <= max(turn.limits.spread_limit_ms, window_ms / 2) + _HAIR_MS:
        return None
    return Advice(
        f"Uneven: the notes lie {median(spreads):.0f} ms about their places: ease the tempo by 8 % until the "
        "roll runs by itself."
    )


def _late_fall(turn: Turn) -> Advice | None:
    def marks(judged: Judged) -> list[int]:
        return [s.index for s in judged.outcome.sevenths if s.resolution == "late" and not s.as_asked]

    index = turn.most_often(marks)
    if index is None:
        return None
    seven, due, often = turn.name(index), turn.due_name(index), turn.how_often(index, marks)
    passes = turn.marked(index, marks)
    ms = [s.resolution_ms or 0.0 for p in passes for s in p.outcome.sevenths if s.index == index]
    late = late_words(median(ms), turn.passes[0].outcome.tempo_half_bpm)
    said = f"{seven} fell to {due} {late}{often}: have {due} ready{turn.due_at(index)}."
    if 2 * sum(left_out(turn, p, index) for p in passes) >= len(passes):
        said = (
            f"{seven} came home to {due} {late}; the fall itself was left out{often}: "
            f"play {seven} to {due}{turn.due_at(index)}."
        )
    return Advice(said, seven_and_due(turn, index))


def _late_note(turn: Turn) -> Advice | None:
    def marks(judged: Judged) -> list[int]:
        return [n.index for n in judged.outcome.notes if n.core and n.verdict in ("early", "late")]

    index = turn.most_often(marks)
    if index is None:
        return None
    words = {p.outcome.notes[index].verdict for p in turn.marked(index, marks)}
    word = words.pop() if len(words) == 1 else "off its place"
    said = (
        f"{turn.name(index)} {turn.at(index)} was {word}{turn.how_often(index, marks)}: "
        "loop the half bar around it."
    )
    return Advice(said, (index,))


def _other_note(turn: Turn) -> Advice | None:
    if turn.all_clean:
        return None

    def marks(judged: Judged) -> list[int]:
        return [n.index for n in judged.outcome.notes if n.verdict in ("wrong", "missed")]

    index = turn.most_often(marks)
    if index is None:
        return _added(turn)
    note = turn.lick.notes[index]
    heard = [p.outcome.notes[index].heard_midi for p in turn.passes]
    other = next((midi for midi in heard if midi is not None and midi != note.midi), None)
    what = "was not heard" if other is None else f"came out as {tone_name(turn.lick, other)}"
    said = (
        f"{turn.name(index)} {turn.at(index)} {what}{turn.how_often(index, marks)}: "
        f"look at string {note.string}, fret {note.fret} there."
    )
    return Advice(said, (index,))


def _added(turn: Turn) -> Advice | None:
    foreign = [(p, e) for p in turn.passes for e in [e for e in p.outcome.extras if e.foreign][:1]]
    if not foreign or len(foreign) < SHARE * len(turn.passes):
        return None
    judged, extra = foreign[0]
    name = tone_name(turn.lick, extra.midi)
    said = f"{name} was added, a note outside the chord: play it slowly once and listen for it."
    return Advice(said, beside(judged, extra))


def _lean(turn: Turn) -> Advice | None:
    leans = [p.outcome.timing.lean_ms for p in turn.passes if p.outcome.timing.lean_ms is not None]
    if not leans or abs(median(leans)) <= turn.limits.lean_unsure_ms + _HAIR_MS:
        return None
    side = "ahead of" if median(leans) < 0 else "behind"
    if abs(median(leans)) > 1e3 * turn.eighth_sec / 2:
        return Advice(
            f"Everything lies {abs(median(leans)):.0f} ms {side} the click, more than any lean: check the "
            "start and the tempo that were given."
        )
    wandered = [shift for p in turn.passes if (shift := wander_ms(p)) is not None]
    if wandered and abs(median(wandered)) > turn.limits.lean_unsure_ms:
        way = "gains on" if median(wandered) < 0 else "falls behind"
        return Advice(
            f"The second half of the lick {way} the click by {abs(median(wandered)):.0f} ms: let the click "
            "carry you through the change."
        )
    all_landed = all(note.verdict == "landed" for p in turn.passes for note in p.outcome.notes)
    begin = "All landed: " if all_landed else ""
    return Advice(f"{begin}{abs(median(leans)):.0f} ms {side} the click, steadily: a style, if you mean it.")


_ROWS: tuple[Callable[[Turn], Advice | None], ...] = (
    _not_sounded,
    _swallowed,
    _hanging,
    _other_octave,
    _hurried,
    _uneven,
    _late_fall,
    _late_note,
    _other_note,
    _lean,
)
