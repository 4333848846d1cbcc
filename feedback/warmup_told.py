"""What of a warm-up can be told: its passes that were heard to their ends, and the guide tones in them.

The problem: a step is played once or twice, and in so few notes no bounce can be found; so where the seven
lies on an even eighth, a bounce looks like a late seven. Bounce is style. It is therefore found from all
passes of the warm-up at one tempo together.

Conventions: a pass is *clear* where not too much of it was unclear; only clear ones blame anybody. Of each
guide tone two things are told apart: how it *sounded*, and how it *fell* where it was due to.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from feedback.grid import EIGHTH_QUARTERS, HAIR_SEC, Habits
from feedback.judges.limits import Limits
from feedback.judges.timing import Deviation, bounce_sec, spread_sec
from feedback.judges.whole import Judged
from feedback.session import PassOver
from feedback.words import chord_name, target_name, tone_name
from routines.chords import Chord
from routines.lick import Lick, TargetNote, quarter_sec
from routines.outcome import PassOutcome, SeventhVerdict
from routines.warmups.steps import Step

FEWEST = 3
"""Passes, or guide tones of one kind, from which a habit can be told from a slip."""

Sounding = Literal["right", "unclear", "silent", "wrong", "swallowed", "early", "late"]
Falling = Literal["right", "unclear", "hanging", "fell late", "fell early"]


@dataclass(frozen=True, slots=True)
class Told:
    """A pass that was listened to from its beginning to its end, and in which a banjo was heard.

    Attributes
    ----------
    step : Step
    judged : Judged
    steady : bool
        Whether its times may be trusted.
    bounce_sec : float or None
        How much later than half way the even eighths come at its tempo, by all passes of the warm-up; None
        where they were too few to know.
    """

    step: Step
    judged: Judged
    steady: bool
    bounce_sec: float | None = None

    @property
    def outcome(self) -> PassOutcome:
        """Its verdicts."""
        return self.judged.outcome

    @property
    def clear(self) -> bool:
        """Whether it counts."""
        return self.outcome.clean is not None

    @property
    def window_sec(self) -> float:
        """W at its tempo, as it is by default."""
        return Limits().window_sec(EIGHTH_QUARTERS * quarter_sec(self.outcome.tempo_half_bpm))

    def rest_ms(self, index: int) -> float | None:
        """How late a note came, lean and the warm-up's bounce taken off.

        None where it was not heard, or where that cannot be known.
        """
        rest_ms = self.outcome.notes[index].rest_ms
        if rest_ms is None or self.bounce_sec is None or not self.steady:
            return None
        more = Habits(bounce_sec=self.judged.habits.bounce_sec - max(0.0, self.bounce_sec))
        return rest_ms + 1e3 * more.expected_sec(self.step.lick.notes[index].onset_quarters, 0.0)

    @property
    def spread_ms(self) -> float | None:
        """Its spread, the warm-up's bounce taken off where too few notes of its own showed one."""
        timing = self.outcome.timing
        if not self.steady or timing.bounce is not None or self.bounce_sec is None:
            return timing.spread_ms if self.steady else None
        played = [
            note.index
            for note in self.outcome.notes
            if note.verdict in ("landed", "early", "late") and self.step.lick.notes[note.index].picked
        ]
        return spread_sec([ms for index in played if (ms := self.rest_ms(index)) is not None])


@dataclass(frozen=True, slots=True)
class Guide:
    """A guide tone in a pass: a flat seven, or a chord's third."""

    told: Told
    verdict: SeventhVerdict
    voice: Literal["seven", "third"]

    @property
    def lick(self) -> Lick:
        """The lick in which it stands."""
        return self.told.step.lick

    @property
    def note(self) -> TargetNote:
        """The target that it is."""
        return self.lick.notes[self.verdict.index]

    @property
    def name(self) -> str:
        """Its tone, spelled by its chord."""
        return target_name(self.lick, self.verdict.index)

    @property
    def chord(self) -> str:
        """Its chord, as the hand shapes it."""
        return chord_name(self.lick, self.verdict.chord)

    @property
    def next_chord(self) -> str:
        """The chord that it goes to, as the hand shapes it; empty for none."""
        return chord_name(self.lick, self.verdict.next_chord) if self.verdict.next_chord else ""

    @property
    def due(self) -> str:
        """The tone that it is to go to; empty for none."""
        midi = self.verdict.due_midi
        return "" if midi is None else tone_name(self.lick, midi, Chord.parse(self.verdict.next_chord))

    @property
    def rises(self) -> bool:
        """Whether it is to rise."""
        return self.verdict.due_midi is not None and self.verdict.due_midi > self.verdict.midi

    @property
    def rest_ms(self) -> float | None:
        """How late it came, as `Told.rest_ms` says."""
        return self.told.rest_ms(self.verdict.index)

    @property
    def sounding(self) -> Sounding:
        """How it sounded: the first thing that went wrong with it."""
        verdict = self.verdict
        if not self.told.clear or verdict.sounded is None:
            return "unclear"
        own = self.told.outcome.notes[verdict.index].verdict
        if not verdict.sounded:
            return "wrong" if own == "wrong" else "silent"
        if verdict.swallowed:
            return "swallowed"
        return own if (own == "early" or own == "late") and not self._bounced else "right"

    @property
    def _bounced(self) -> bool:
        """Whether it is in time by the warm-up's bounce, where its own pass had too few notes to find one."""
        rest_ms = self.rest_ms
        if self.told.outcome.timing.bounce is not None or rest_ms is None:
            return False
        wider = 1.0 if self.note.picked else Limits().slurred_window
        return abs(rest_ms) <= 1e3 * (wider * self.told.window_sec + HAIR_SEC)

    @property
    def falling(self) -> Falling | None:
        """How it went on where it was due to; None where nothing was due."""
        verdict = self.verdict
        if not verdict.due:
            return None
        if not self.told.clear or verdict.resolution == "unclear":
            return "unclear"
        if verdict.as_asked:
            return "right"
        asks = self.lick.sevenths if self.voice == "seven" else self.lick.thirds
        due = next(ask.due_note for ask in asks if ask.note == verdict.index)
        left_out = due is not None and self.told.outcome.notes[due].verdict in ("missed", "wrong")
        falls: dict[str, Falling] = {"late": "fell late", "ahead": "fell early"}
        return "hanging" if left_out else falls.get(verdict.resolution, "hanging")


def told(played: Sequence[tuple[Step, Sequence[PassOver]]]) -> list[Told]:
    """The passes of each step's own lick that were heard to their ends, in their order."""
    heard = [
        (step, over)
        for step, passes in played
        for over in passes
        if over.complete and over.heard and over.judged.outcome.lick == step.lick.id
    ]
    pools: dict[float, list[Deviation]] = {}
    for _, over in heard:
        pool = pools.setdefault(over.judged.outcome.tempo_half_bpm, [])
        pool += () if over.shaken else over.judged.played
    bounces = {tempo: bounce_sec(pool) for tempo, pool in pools.items()}
    return [
        Told(step, over.judged, not over.shaken, bounces[over.judged.outcome.tempo_half_bpm])
        for step, over in heard
    ]


def guides(passes: Sequence[Told], *, thirds: bool = False) -> Iterator[Guide]:
    """The sevens of some passes; with `thirds`, the thirds that the lick's text marks as well."""
    for one in passes:
        for verdict in one.outcome.sevenths:
            yield Guide(one, verdict, "seven")
        marked = {ask.note for ask in one.step.lick.thirds if ask.marked}
        for verdict in one.outcome.thirds if thirds else ():
            if verdict.index in marked:
                yield Guide(one, verdict, "third")
