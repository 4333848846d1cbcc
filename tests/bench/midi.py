"""A performance as MIDI: a channel a string, a tick a millisecond.

The problem: one channel cannot choke one string while the others ring. With a channel a string, re-picking is
a note-off and a note-on there, and pitch bend belongs to that string alone.

Conventions: string s plays on channel s - 1 (counted from 0), program 105 counted from 0. Bend range is
`BEND_HALF_STEPS`, set by RPN 0. A slur is a new note of lower velocity; two SoundFont generators are moved by
NRPN 120 (SoundFont 2.04, section 9.6), which other synthesisers ignore: the release is short, so that a
string that is struck again falls silent, and the attack of a slurred note is slow, so that its pick is not
heard.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import mido
import numpy as np

from feedback.played import PlayedNote

PROGRAM = 105
BEND_HALF_STEPS = 12
VELOCITY = 80
"""Velocity of level 0; power goes with its fourth power."""

_BEND_EVERY_MS = 4
_ATTACK, _RELEASE = 34, 38
_SLURRED_TIMECENTS = 5000
_DAMPED_TIMECENTS = -7000
_NRPN_TIMECENTS = 2
_MIDDLE = 8192


def velocity_of(level_db: float) -> int:
    """Return the velocity of a level in decibels, 1 to 127, by the SoundFont law of 40 decibels a decade."""
    return int(np.clip(round(VELOCITY * 10.0 ** (level_db / 40.0)), 1, 127))


def midi_file(
    notes: Sequence[PlayedNote],
    *,
    onset_ms: Callable[[PlayedNote], int] = lambda note: round(1e3 * note.onset_sec),
    velocity: Callable[[PlayedNote], int] = lambda note: velocity_of(note.level_db),
    end_ms: int | None = None,
) -> mido.MidiFile:
    """Write notes as a MIDI file of one track.

    Parameters
    ----------
    notes : sequence of PlayedNote
    onset_ms : callable
        When a note's note-on is sent; by default at its onset.
    velocity : callable
    end_ms : int, optional
        When the file ends; by default with the last note.

    Returns
    -------
    mido.MidiFile
    """
    events = [(0, message) for string in range(1, 6) for message in _set_up(string - 1)]
    for string in range(1, 6):
        line = sorted((n for n in notes if n.string == string), key=lambda n: n.onset_sec)
        starts = [max(0, onset_ms(note)) for note in line]
        for note, start, following in zip(line, starts, [*starts[1:], None], strict=False):
            stop = start + max(1, round(1e3 * note.duration_sec))
            # A string sounds one note: the next one's note-on comes after this one's note-off.
            stop = stop if following is None else min(stop, following)
            events += _sounded(note, velocity(note), start, stop)
    events.sort(key=lambda event: event[0])
    return _filed(events, end_ms)


def _set_up(channel: int) -> Iterator[mido.Message]:
    yield mido.Message("program_change", program=PROGRAM, channel=channel)
    for control, value in ((101, 0), (100, 0), (6, BEND_HALF_STEPS), (38, 0), (101, 127), (100, 127)):
        yield mido.Message("control_change", control=control, value=value, channel=channel)
    yield from _generator(_RELEASE, _DAMPED_TIMECENTS, channel)


def _generator(number: int, timecents: int, channel: int) -> Iterator[mido.Message]:
    value = timecents // _NRPN_TIMECENTS + _MIDDLE
    for control, data in ((99, 120), (98, number), (38, value & 127), (6, value >> 7)):
        yield mido.Message("control_change", control=control, value=data, channel=channel)


def _sounded(
    note: PlayedNote, velocity: int, start_ms: int, stop_ms: int
) -> Iterator[tuple[int, mido.Message]]:
    channel = note.string - 1
    attack = 0 if note.picked else _SLURRED_TIMECENTS
    for message in _generator(_ATTACK, attack, channel):
        yield start_ms, message
    bends = [(ms, bend) for ms, bend in _bends(note) if start_ms + ms < stop_ms]
    for ms, bend in bends[:1]:
        yield start_ms + ms, mido.Message("pitchwheel", pitch=bend, channel=channel)
    on = mido.Message("note_on", note=note.struck_midi, velocity=velocity, channel=channel)
    yield start_ms, on
    for ms, bend in bends[1:]:
        yield start_ms + ms, mido.Message("pitchwheel", pitch=bend, channel=channel)
    yield stop_ms, mido.Message("note_off", note=note.struck_midi, velocity=0, channel=channel)


def _bends(note: PlayedNote) -> Iterator[tuple[int, int]]:
    """Milliseconds after the onset, and pitch wheel; the first is at the onset."""
    if note.from_midi is None or note.arrive_sec is None:
        yield 0, 0
        return
    begins, ends = note.from_midi - note.struck_midi, note.midi - note.struck_midi
    takes_ms = 1e3 * (note.arrive_sec - note.onset_sec)
    moves = [(0.0, begins, ends)]
    if note.let_down_sec is not None:
        moves.append((1e3 * (note.let_down_sec - note.onset_sec), ends, begins))
    for begin_ms, here, there in moves:
        for ms in np.arange(0.0, takes_ms + _BEND_EVERY_MS, _BEND_EVERY_MS):
            half_steps = here + (there - here) * _come(note, min(1.0, ms / takes_ms))
            yield (
                round(begin_ms + ms),
                int(np.clip(round(half_steps / BEND_HALF_STEPS * _MIDDLE), -_MIDDLE, _MIDDLE - 1)),
            )


def _come(note: PlayedNote, share: float) -> float:
    """How far the pitch has come after a share of the time: fret by fret, or without a corner."""
    if note.how == "slide":
        frets = abs(note.midi - (note.from_midi or note.midi))
        return float(np.floor(share * frets) / frets)
    return float(0.5 - 0.5 * np.cos(np.pi * share))


def _filed(events: Sequence[tuple[int, mido.Message]], end_ms: int | None) -> mido.MidiFile:
    file = mido.MidiFile(type=0, ticks_per_beat=1000)
    track = mido.MidiTrack()
    track.append(mido.MetaMessage("set_tempo", tempo=1_000_000, time=0))
    now = 0
    for ms, message in events:
        track.append(message.copy(time=ms - now))
        now = ms
    track.append(mido.MetaMessage("end_of_track", time=max(0, (end_ms or now) - now)))
    file.tracks.append(track)
    return file
