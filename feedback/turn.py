"""A turn of passes, looked at together: what is marked in most of them, and how its notes are named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from feedback.grid import EIGHTH_QUARTERS
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from feedback.words import at_words, chord_name, place_words, target_name, tone_name
from routines.chords import Chord
from routines.lick import Ask, Lick, quarter_sec

FEWEST_TO_WANDER = 4
"""Notes in each half of a pass that a wandering tempo needs."""

SHARE = 0.5
"""A fault is named where it stands in at least this share of the passes."""


def wander_ms(judged: Judged) -> float | None:
    """How much later the second half of a pass lies than the first, in ms; None with too few notes."""
    off = [
        note.deviation_ms
        for note in judged.outcome.notes
        if note.deviation_ms is not None and note.verdict in ("landed", "early", "late")
    ]
    half = len(off) // 2
    return median(off[-half:]) - median(off[:half]) if half >= FEWEST_TO_WANDER else None


@dataclass(frozen=True, slots=True)
class Turn:
    """Passes of one lick at one tempo, all of which can be told.

    Attributes
    ----------
    lick : Lick
    passes : sequence of Judged
        At least one.
    limits : Limits
    """

    lick: Lick
    passes: Sequence[Judged]
    limits: Limits

    @property
    def eighth_sec(self) -> float:
        """Length of an eighth at the tempo of the passes, in seconds."""
        return EIGHTH_QUARTERS * quarter_sec(self.passes[0].outcome.tempo_half_bpm)

    @property
    def all_clean(self) -> bool:
        """Whether every pass was clean."""
        return all(judged.outcome.clean for judged in self.passes)

    def most_often(self, marks: Callable[[Judged], Iterable[int]]) -> int | None:
        """The target that is marked in most passes, if that is at least `SHARE` of them."""
        counts = Counter(index for judged in self.passes for index in set(marks(judged)))
        if not counts:
            return None
        index, times = max(counts.items(), key=lambda item: (item[1], -item[0]))
        return index if times >= SHARE * len(self.passes) else None

    def marked(self, index: int, marks: Callable[[Judged], Iterable[int]]) -> list[Judged]:
        """The passes in which a target is marked."""
        return [judged for judged in self.passes if index in set(marks(judged))]

    def how_often(self, index: int, marks: Callable[[Judged], Iterable[int]]) -> str:
        """Empty for one pass; else in how many of them a target is marked."""
        if len(self.passes) == 1:
            return ""
        return f" in {len(self.marked(index, marks))} of {len(self.passes)} passes"

    def name(self, index: int) -> str:
        """A target's tone, spelled by its chord."""
        return target_name(self.lick, index)

    def where(self, index: int) -> str:
        """A target's place in words."""
        return place_words(self.lick, self.lick.notes[index].onset_quarters)

    def at(self, index: int) -> str:
        """The same with its preposition."""
        return at_words(self.lick, self.lick.notes[index].onset_quarters)

    def chord(self, index: int) -> str:
        """The chord over which this flat seven stands."""
        return chord_name(self.lick, self.ask(index).chord)

    def ask(self, index: int) -> Ask:
        """What is asked of the flat seven that is this target."""
        return next(ask for ask in self.lick.sevenths if ask.note == index)

    def due_name(self, index: int) -> str:
        """The tone that this flat seven is due to fall to, spelled by the next chord."""
        ask = self.ask(index)
        return "" if ask.due_midi is None else tone_name(self.lick, ask.due_midi, Chord.parse(ask.next_chord))

    def due_at(self, index: int) -> str:
        """Where the lick asks for that tone, with its string and fret."""
        ask = self.ask(index)
        if ask.place_quarters is None:
            return ""
        where = at_words(self.lick, ask.place_quarters)
        if ask.due_note is None or self.lick.notes[ask.due_note].technique != "pick":
            return f" {where}"
        note = self.lick.notes[ask.due_note]
        return f" (string {note.string}, {'open' if note.fret == 0 else f'fret {note.fret}'}) {where}"
