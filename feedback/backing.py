"""Where bass and chop of a backing lie in a turn, and which notes they play.

The problem: a flat seven is heard against its chord. A click tells the beat and no chord; so a bass and a
chopped mandolin lay the changes under the lick, as two players would who know it, and lead back to its first
chord in the rest bars. They are simple on purpose: the player is to hear the chord of the moment, not them.

Conventions: seconds are those of the plan, 0 where the count-in begins; places in a bar are quarters from
its downbeat, and every stroke lies on one. During the first count-in there is nothing but the click. The
band comes in at bar 1 of the first pass: the chord of a pickup is never played. A chop takes the chord of its
own place.

- Bass, 2/2: the root on one; on two the fifth, or, where the chord has another root by then, that root. A
  chord that goes on over a bar line has its root on one again.
- Bass, 3/4: on one alone, root and fifth by turns from bar to bar; a chord with another root that begins on
  two or three has its root there.
- Roots lie from E1 to Eb2, the lowest octave of an upright bass; a fifth lies below its root unless that is
  lower than E1. So a chord has the same two notes wherever it comes, and neighbours by fifths, which is what
  most changes are, lie a fourth or fifth apart.
- Chop: on the quarters between the half notes, in 3/4 on two and three. Each of up to four tones once, from
  G3 to E5, those that lie nearest to what was chopped before; each pass begins from the middle of the
  register, so that all passes are the same (`feedback.voicing`).
- Where no chord is played (N.C.) the bass is silent, and the chop is dead: a stroke without pitch.
- Rest bars lead back as a turnaround does: the lick's last chord, then the dominant seventh of its first
  (E7 before A7), a bar of it, or half a bar where there is but one rest bar; in 3/4 the whole of it, as a
  waltz changes on downbeats. If a half note is left after the root of that seventh, the bass plays its third
  there, a half step under the root to come (its fifth where the third would be lower than E1).
- On the downbeat after the last pass both play the ending: the last chord, or, where that is a dominant
  seventh on another root than the key's, the chord of the key. It rings until `TurnPlan.end_sec`, when the
  turn is over and all that plays is silenced.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import TYPE_CHECKING

from feedback.voicing import voiced
from routines.chords import Chord
from routines.lick import Lick, quarter_sec

if TYPE_CHECKING:
    import numpy as np

    from feedback.session import TurnPlan

BASS_LOWEST, BASS_HIGHEST = 28, 50
"""E1, the lowest string of an upright bass, and D3, above which no note of this backing lies."""

_HAIR_QUARTERS = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class BassNote:
    """One note of the bass.

    Attributes
    ----------
    sec : float
        Where it is plucked, in seconds of the plan.
    duration_sec : float
        How long it rings: until the next one, or until no chord is played.
    midi : int
        `BASS_LOWEST` to `BASS_HIGHEST`.
    """

    sec: float
    duration_sec: float
    midi: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Chop:
    """One stroke of the mandolin.

    Attributes
    ----------
    sec : float
        In seconds of the plan.
    midis : tuple of int
        From the lowest, each within the register of `feedback.voicing`; empty for a dead stroke.
    rings_sec : float
        How long it rings; 0 where it is damped at once, as all are but the last.
    """

    sec: float
    midis: tuple[int, ...]
    rings_sec: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Feel:
    """Quarters from the downbeat: where the bass plays, where only if the root is new, where the chop."""

    bass: tuple[int, ...]
    if_new: tuple[int, ...]
    chop: tuple[int, ...]
    root_on_one: bool


_FEELS: Mapping[str, _Feel] = MappingProxyType(
    {
        "2/2": _Feel(bass=(0, 2), if_new=(), chop=(1, 3), root_on_one=True),
        "3/4": _Feel(bass=(0,), if_new=(1, 2), chop=(1, 2), root_on_one=False),
    }
)
"""How each meter of `routines.lick.QUARTERS_A_BAR` is accompanied."""

_Chords = tuple[Chord | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bar:
    """A bar of the turn: its downbeat, the chord at each quarter, and what it is for."""

    sec: float
    chords: _Chords
    opens: bool = False
    leads_to: Chord | None = None


def backing(plan: TurnPlan) -> tuple[BassNote | Chop, ...]:
    """Every stroke of bass and chop of a turn: its passes, the rest bars between them, and the ending.

    Parameters
    ----------
    plan : TurnPlan

    Returns
    -------
    tuple of BassNote or Chop
        By time, the bass first; empty before the first pass. A lick without any chord has dead chops alone.
    """
    bars = tuple(_bars(plan))
    ending, end_sec = _ending(plan.lick), plan.starts_sec[-1] + plan.lick.bars * plan.bar_sec
    rings_sec = plan.end_sec - end_sec
    basses = _bass_strokes(plan, bars)
    chops = list(_chops(plan, bars))
    if ending is not None:
        basses.append((end_sec, _bass_midi(ending, "root")))
        last = next((chop.midis for chop in reversed(chops) if chop.midis), ())
        chops.append(Chop(sec=end_sec, midis=voiced(ending, last), rings_sec=rings_sec))
    basses.append((end_sec if ending is None else plan.end_sec, None))
    notes = [
        BassNote(sec=sec, duration_sec=until - sec, midi=midi)
        for (sec, midi), (until, _) in pairwise(basses)
        if midi is not None
    ]
    return tuple(sorted([*notes, *chops], key=lambda one: one.sec))


def turnaround(lick: Lick, bars: int) -> tuple[_Chords, ...]:
    """The chords of the rest bars that lead from a lick's last chord back to its first.

    Parameters
    ----------
    lick : Lick
    bars : int
        How many; may be 0.

    Returns
    -------
    tuple of tuple of (Chord or None)
        For each bar the chord at each of its quarters; None throughout where the lick has no chords.
    """
    quarters = round(lick.quarters_a_bar)
    sounding = _sounding(lick)
    if not sounding:
        return ((None,) * quarters,) * bars
    dominant = Chord(sounding[0].root.up(4, 7), "7")
    stays = (sounding[-1],) * quarters
    half = quarters // 2 if bars == 1 and quarters % 2 == 0 else 0
    last = (*stays[:half], *(dominant,) * (quarters - half))
    return (*(stays,) * (bars - 1), last) if bars else ()


def render_backing(plan: TurnPlan, *, rate: int, level_db: float, quiet_sec: float = 0.0) -> np.ndarray:
    """The backing of a turn as sound; see `feedback.sound.backing.render`."""
    # Late, so that whoever asks only where the strokes lie loads no arrays.
    from feedback.sound.backing import render

    return render(backing(plan), rate=rate, level_db=level_db, quiet_sec=quiet_sec)


def _sounding(lick: Lick) -> list[Chord]:
    """The chords that are played from bar 1 on, in order."""
    return [s.chord for s in lick.chords if s.chord is not None and s.end_quarters > _HAIR_QUARTERS]


def _ending(lick: Lick) -> Chord | None:
    sounding = _sounding(lick)
    if not sounding:
        return None
    home = Chord.parse(lick.key)
    leads = sounding[-1].dominant and sounding[-1].root.pitch_class != home.root.pitch_class
    return home if leads else sounding[-1]


def _bars(plan: TurnPlan) -> Iterator[_Bar]:
    lick, led_back = plan.lick, turnaround(plan.lick, plan.rest_bars)
    quarters = round(lick.quarters_a_bar)
    written = [_chord_at(lick, quarter) for quarter in range(lick.bars * quarters)]
    first = next(iter(_sounding(lick)), None)
    for number, start in enumerate(plan.starts_sec):
        for bar in range(lick.bars):
            chords = tuple(written[bar * quarters : (bar + 1) * quarters])
            yield _Bar(sec=start + bar * plan.bar_sec, chords=chords, opens=bar == 0)
        for bar, chords in enumerate(led_back if number < plan.passes - 1 else ()):
            leads_to = first if bar == plan.rest_bars - 1 else None
            yield _Bar(sec=start + (lick.bars + bar) * plan.bar_sec, chords=chords, leads_to=leads_to)


def _chord_at(lick: Lick, quarter: int) -> Chord | None:
    begun = [s.chord for s in lick.chords if s.start_quarters <= quarter + _HAIR_QUARTERS]
    return begun[-1] if begun else None


def _bass_strokes(plan: TurnPlan, bars: tuple[_Bar, ...]) -> list[tuple[float, int | None]]:
    """Where a bass note begins, and where one must end (None), by time."""
    feel, quarter = _FEELS[plan.lick.meter], quarter_sec(plan.tempo_half_bpm)
    laid: list[tuple[float, int | None]] = []
    root, function = -1, ""
    for bar in bars:
        for place, chord in enumerate(bar.chords):
            sec = bar.sec + place * quarter
            if chord is None:
                laid.append((sec, None))
                root = -1
                continue
            new = chord.root.pitch_class != root
            if not (place in feel.bass or (new and place in feel.if_new)):
                continue
            again = place == 0 and (feel.root_on_one or bar.opens)
            function = "root" if new or again or function != "root" else "fifth"
            root = chord.root.pitch_class
            leads = bar.leads_to is not None and function == "fifth" and place > 0
            laid.append((sec, _led(bar, chord) if leads else _bass_midi(chord, function)))
    return laid


def _led(bar: _Bar, chord: Chord) -> int:
    """The last note before a pass: a half step under the root to come, where the bass has it."""
    below = BASS_LOWEST - 1 if bar.leads_to is None else _bass_midi(bar.leads_to, "root") - 1
    return below if below >= BASS_LOWEST else _bass_midi(chord, "fifth")


def _bass_midi(chord: Chord, function: str) -> int:
    root = BASS_LOWEST + (chord.root.pitch_class - BASS_LOWEST) % 12
    tone = chord.tone(function) or chord.root
    midi = root - (root - tone.pitch_class) % 12
    return midi if midi >= BASS_LOWEST else midi + 12


def _chops(plan: TurnPlan, bars: tuple[_Bar, ...]) -> Iterator[Chop]:
    feel, quarter = _FEELS[plan.lick.meter], quarter_sec(plan.tempo_half_bpm)
    before: tuple[int, ...] = ()
    for bar in bars:
        if bar.opens:
            before = ()
        for place in feel.chop:
            chord = bar.chords[place]
            midis = voiced(chord, before) if chord is not None else ()
            before = midis or before
            yield Chop(sec=bar.sec + place * quarter, midis=midis)
