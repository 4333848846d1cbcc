"""Where a guide tone went: resolved, ahead, late, in another octave, unclear, left hanging.

It is looked for where the lick asks for it, among everything that was surely heard, whether or not another
target claimed it: the ear hears it too. All times have the player's habits taken off.

Where the letter of the definitions leaves room, or asks for more than an ear would:

- Where a lick asks for a late resolution, a due note on or about the downbeat of the chord is "ahead" even if
  it lies more than an eighth before the asked place. Calling a seven left hanging that fell sooner than
  written would blame what the ear hears as right.
- The open fifth string sounds through everything and belongs to no voice: its pitch is no fall, in no octave,
  unless it is the very pitch that the lick asks for.
- What lands within W of a beat lies on that beat, where a bar or the next chord ends the time to fall late.
- A seven so late that it is struck with its own fall: what begins together has no order, and the fall counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from feedback.grid import HAIR_SEC, Grid, Habits
from feedback.heard import Sound
from feedback.judges.deafness import Deaf, inside, touches
from feedback.judges.notes import Answer
from routines.lick import Ask
from routines.outcome import NoteVerdict, Resolution


@dataclass(frozen=True, slots=True, kw_only=True)
class PassHeard:
    """All that the judge of guide tones looks at.

    Attributes
    ----------
    grid : Grid
    sounds : sequence of Sound
    answered : dict of int to Answer
    verdicts : sequence of NoteVerdict
    habits : Habits
    deaf : Deaf
    """

    grid: Grid
    sounds: Sequence[Sound]
    answered: dict[int, Answer]
    verdicts: Sequence[NoteVerdict]
    habits: Habits
    deaf: Deaf = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Went:
    """What became of a due guide tone.

    Attributes
    ----------
    resolution : Resolution
    midi : int or None
        The pitch that it went to.
    off_sec : float or None
        How long after the asked place.
    as_asked : bool or None
        Whether the note that the lick writes for it landed; None where that is unclear.
    """

    resolution: Resolution
    midi: int | None = None
    off_sec: float | None = None
    as_asked: bool | None = None


def where_it_went(heard: PassHeard, ask: Ask) -> Went:
    """Find where a guide tone went that sounded and is due: the first match in the order of the definitions.

    Parameters
    ----------
    heard : PassHeard
    ask : Ask

    Returns
    -------
    Went
    """
    grid = heard.grid
    if ask.due_midi is None or ask.place_quarters is None or ask.change_quarters is None:
        return Went(resolution="none")
    place = grid.due_sec(ask.place_quarters)
    change = grid.due_sec(ask.change_quarters)
    window = grid.window_sec if ask.due_note is None else grid.window_of(grid.lick.notes[ask.due_note])
    earliest = min(place, change) - grid.eighth_sec - grid.window_sec
    # What lands on a beat belongs to it: one bar later still counts, the next change is not before itself.
    latest = min(
        change + grid.lick.quarters_a_bar * grid.quarter_sec + grid.window_sec,
        _next_change_sec(grid, ask) - grid.window_sec - 2 * HAIR_SEC,
    )
    asked_midi = _asked_midi(grid, ask)
    as_asked = False
    own: dict[Resolution, Went] = {}
    other: dict[Resolution, Went] = {}
    for number, midi, sec in _falls(heard, ask):
        off = sec - place
        in_place = abs(off) <= window + HAIR_SEC
        as_asked = as_asked or (in_place and midi == asked_midi)
        if in_place:
            word: Resolution = "resolved"
        elif off < 0 and sec >= earliest - HAIR_SEC and not _seven_after(heard, ask, number, place):
            word = "ahead"
        elif off > 0 and sec <= latest + HAIR_SEC:
            word = "late"
        else:
            continue
        (own if midi == ask.due_midi else other).setdefault(
            word, Went(resolution=word, midi=midi, off_sec=off)
        )
    words: tuple[Resolution, ...] = ("resolved", "ahead", "late")
    lost = inside(heard.deaf)
    if "resolved" not in own and touches(lost, place - window, place + window):
        return Went(resolution="unclear")
    for word in words:
        if word in own:
            return replace(own[word], as_asked=as_asked)
    if touches(lost, earliest, latest):
        return Went(resolution="unclear")  # the fall may have come where nothing was heard
    for word in words:
        if word in other:
            return replace(other[word], resolution="octave", as_asked=as_asked)
    if ask.due_note is not None and heard.verdicts[ask.due_note].verdict == "unclear":
        return Went(resolution="unclear")
    return Went(resolution="hanging", as_asked=False)


def _falls(heard: PassHeard, ask: Ask) -> Iterable[tuple[int, int, float]]:
    """Sure sounds of the due pitch class after the tone that speak by themselves: number, pitch, time."""
    grid = heard.grid
    begin = heard.answered[ask.note].struck_sec
    target_of = {answer.sound: index for index, answer in heard.answered.items()}
    for number, sound in enumerate(heard.sounds):
        due_class = ask.due_midi is not None and (sound.midi - ask.due_midi) % 12 == 0
        own = ask.due_note is not None and target_of.get(number) == ask.due_note
        after = sound.onset_sec > begin - (grid.limits.pinch_ms / 1e3 + HAIR_SEC if own else 0.0)
        if not (due_class and sound.sure and after):
            continue
        if _mere_drone(grid, ask, sound.midi) or not _speaks(heard, ask, number, target_of):
            continue
        if number in target_of:
            answer = heard.answered[target_of[number]]
            sec = sound.onset_sec if answer.arrived_late else answer.struck_sec
            quarters = grid.lick.notes[target_of[number]].onset_quarters
            due = grid.due_sec(quarters)
        else:
            sec = sound.onset_sec
            due = sec - heard.habits.lean_sec
            quarters = grid.quarters(due)
        yield number, sound.midi, sec - heard.habits.expected_sec(quarters, due)


def _mere_drone(grid: Grid, ask: Ask, midi: int) -> bool:
    """Whether a pitch is the open fifth string's, which belongs to no voice unless it is asked for."""
    return midi == grid.lick.neck.open_midi(5) != _asked_midi(grid, ask)


def _asked_midi(grid: Grid, ask: Ask) -> int | None:
    """The pitch that the lick writes for the fall: the due one, or that in another octave."""
    return ask.due_midi if ask.due_note is None else grid.lick.notes[ask.due_note].midi


def _speaks(heard: PassHeard, ask: Ask, number: int, target_of: dict[int, int]) -> bool:
    """Whether a sound is held long enough before an ornament (a half or whole step) moves on from it."""
    first = heard.sounds[number]
    enough = heard.grid.speaks_sec
    notes = heard.grid.lick.notes
    pinch_sec = heard.grid.limits.pinch_ms / 1e3

    def with_it(other: int) -> bool:
        if number not in target_of or other not in target_of:
            return False
        if (target_of[number], target_of[other]) == (ask.due_note, ask.note):
            return heard.sounds[other].onset_sec - first.onset_sec <= pinch_sec + HAIR_SEC
        return notes[target_of[number]].onset_quarters == notes[target_of[other]].onset_quarters

    return not any(
        later.sure
        and 0 < abs(later.midi - first.midi) <= 2
        and 0 < later.onset_sec - first.onset_sec < enough - HAIR_SEC
        and not with_it(other)
        for other, later in enumerate(heard.sounds)
    )


def _seven_after(heard: PassHeard, ask: Ask, number: int, place_sec: float) -> bool:
    """Whether the guide tone itself was heard once more between a sound and the asked place."""
    midi = heard.grid.lick.notes[ask.note].midi
    begin = heard.sounds[number].onset_sec
    return any(
        sound.sure and sound.midi == midi and begin < sound.onset_sec <= place_sec + heard.grid.window_sec
        for sound in heard.sounds
    )


def _next_change_sec(grid: Grid, ask: Ask) -> float:
    """When the chord after the change ends (a bar line inside one chord is no change)."""
    change = ask.change_quarters or 0.0
    ends = [span.end_quarters for span in grid.lick.chords if span.start_quarters >= change]
    return grid.due_sec(min(ends)) if ends else float("inf")
