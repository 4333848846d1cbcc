"""The rows of their own: what a banjo listener gets wrong, each case apart, as a table that one can add to.

A row says what is played, what becomes of the sound, how it is listened to and what is counted besides the
notes. `measured` runs one row on one instrument with one seed, for our ear and the peer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from types import MappingProxyType

from feedback.errors import Usage
from listener.notes import NoteEvent
from tests.bench import cases
from tests.bench.changes import after_bump, as_it_is, at_level, at_rate, disturbed, disturbed_alone
from tests.bench.counts import (
    Count,
    Counted,
    false_a_minute,
    heard_again,
    path_followed,
    unwanted_heard,
    watched_heard,
)
from tests.bench.hearers import heard, heard_by_peer, heard_in_file
from tests.bench.note_scores import TOLERANCE_SEC, Tally, matched
from tests.bench.passages import Passage, rest_of
from tests.bench.sounds import SOUNDS
from tests.bench.takes import Take

FIRST_SEED = 7000
"""Of every row."""

DISTURBED_BY = ("click", "speech", "taps", "squeak")

_ALONE_SEC = 18.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One case.

    Attributes
    ----------
    meaning : str
        One line.
    play : callable
        Makes the passage of a seed.
    change : callable
        What becomes of a take's sound, given the seed.
    listen : callable
        How our ear listens.
    counts : tuple of Count
    sounds : tuple of str
        The instruments that can play it, of `SOUNDS`.
    """

    meaning: str
    play: Callable[[int], Passage]
    change: Callable[[Take, int], Take] = as_it_is
    listen: Callable[[Take], list[NoteEvent]] = heard
    counts: tuple[Count, ...] = ()
    sounds: tuple[str, ...] = tuple(SOUNDS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """What one listener made of one row: the notes, and each count by its label."""

    tally: Tally
    counted: Mapping[str, Counted] = field(default_factory=dict)

    @classmethod
    def of(cls, take: Take, events: Sequence[NoteEvent], counts: Iterable[Count]) -> Score:
        """Count one take."""
        tally = Tally()
        tally.add(take.truth, events)
        pairs = dict(
            matched(
                [(note.onset_sec, note.midi) for note in take.truth],
                [(event.onset_sec, event.midi) for event in events],
                TOLERANCE_SEC,
            )
        )
        return cls(tally=tally, counted={count.label: count.of(take, events, pairs) for count in counts})

    @classmethod
    def sum(cls, scores: Sequence[Score]) -> Score:
        """Several takes of one row."""
        return cls(
            tally=Tally().merged(score.tally for score in scores),
            counted={
                label: (
                    sum(score.counted[label][0] for score in scores),
                    sum(score.counted[label][1] for score in scores),
                )
                for label in scores[0].counted
            },
        )


def _count(label: str) -> Count:
    return Count(label=label, of=watched_heard)


_ROWS: dict[str, Row] = {
    "plain": Row(meaning="rolls with nothing changed, to hold the rows below against", play=cases.roll),
    **{
        f"fall-{name}": Row(
            meaning="{1} struck half a step below the {0} that still rings".format(*name.split("-")),
            play=partial(cases.fall, name=name),
            counts=(_count("falls"), Count(label="seven again", of=unwanted_heard)),
        )
        for name in cases.FALLS
    },
    "hammer-seven": Row(
        meaning="a hammer up to the seven", play=cases.hammered_seven, counts=(_count("hammered"),)
    ),
    "drone": Row(
        meaning="the fifth string on every second eighth", play=cases.drone, counts=(_count("drone"),)
    ),
    "again": Row(
        meaning="each note struck two to four times running on one string",
        play=cases.picked_again,
        counts=(_count("repeats"),),
    ),
    **{
        f"unison-{name}": Row(
            meaning="one pitch on two strings, an eighth apart",
            play=partial(cases.unison, name=name),
            counts=(_count("second of the two"),),
        )
        for name in cases.UNISONS
    },
    "octave-roll": Row(
        meaning="a note and its octave in turn, G3 and g4 above all",
        play=cases.octave_roll,
        counts=(_count("octaves"),),
    ),
    "octave-pinch": Row(
        meaning="a note and its octave pinched", play=cases.octave_pinch, counts=(_count("octaves"),)
    ),
    "eleven": Row(meaning="rolls at 11 notes a second", play=partial(cases.roll, nps=11.0)),
    **{
        f"choke-{cents}": Row(
            meaning=f"chokes of {cents} cents, named by the pitch that was struck",
            play=partial(cases.choked, cents=float(cents)),
            counts=(
                _count("chokes"),
                Count(label="heard again", of=heard_again),
                Count(label="followed", of=path_followed),
            ),
            # a choke of a part of a half step is more than a MIDI note can name
            sounds=tuple(name for name, sound in SOUNDS.items() if cents % 100 == 0 or sound.partial_chokes),
        )
        for cents in (50, 100, 150, 200)
    },
    **{
        f"tuned-{way}-40": Row(
            meaning=f"the whole instrument 40 cents {word}", play=partial(cases.detuned, cents=cents)
        )
        for way, word, cents in (("up", "sharp", 40.0), ("down", "flat", -40.0))
    },
    "string-15": Row(
        meaning="one string 15 cents off, sharp or flat", play=partial(cases.one_string_off, cents=15.0)
    ),
    **{
        f"capo-{fret}": Row(meaning=f"capo at fret {fret}", play=partial(cases.roll, capo=fret))
        for fret in range(1, 6)
    },
    "neck-top": Row(
        meaning="frets 12 to 22 up to C6, over the drone",
        play=cases.neck_top,
        counts=(_count("above fret 11"),),
    ),
    **{
        f"rate-{rate}": Row(
            meaning=f"a 16-bit file at {rate:,} Hz",
            play=cases.roll,
            change=partial(at_rate, rate=rate),
            listen=heard_in_file,
        )
        for rate in (16_000, 22_050, 44_100, 48_000, 96_000)
    },
    **{
        f"level-{name}": Row(meaning=meaning, play=cases.roll, change=partial(at_level, peak_dbfs=peak))
        for name, meaning, peak in (
            ("soft", "peaks at -30 dB of full scale", -30.0),
            ("full", "peaks 0.3 dB under full scale", -0.3),
            ("clipped", "peaks clipped by 3 dB", 3.0),
        )
    },
    "after-bump": Row(
        meaning="something falls over before the roll, 30 dB louder than it",
        play=cases.roll,
        change=partial(after_bump, over_db=30.0),
    ),
    **{
        f"over-{name}": Row(
            meaning=f"a roll with {name} mixed in, peaks 12 dB under it (such were learnt from)",
            play=cases.roll,
            change=partial(disturbed, by=name, under_db=12.0),
        )
        for name in DISTURBED_BY
    },
    **{
        f"alone-{name}-{-peak}": Row(
            meaning=f"{name} alone, peaks at {peak} dB of full scale (such were learnt from)",
            play=partial(rest_of, sec=_ALONE_SEC),
            change=partial(disturbed_alone, by=name, peak_dbfs=float(peak)),
            counts=(Count(label="false notes", of=false_a_minute, a_minute=True),),
            # no instrument sounds; the simulated one brings a microphone's noise
            sounds=("simulated",),
        )
        for name in DISTURBED_BY
        for peak in (-30, -20, -12)
    },
}

ROWS: Mapping[str, Row] = MappingProxyType(_ROWS)
"""Name of a row to what it is."""


def rows_named(words: Iterable[str]) -> list[str]:
    """Names of rows by name, or by how they begin: `rate` is every rate, `alone-click` all its levels.

    Raises
    ------
    Usage
        If a word begins no row.
    """
    found: dict[str, None] = {}
    for word in words:
        names = [name for name in ROWS if name == word or name.startswith(f"{word}-")]
        if not names:
            raise Usage(f"no row {word!r}: accepted are {', '.join(ROWS)}, or how they begin")
        found |= dict.fromkeys(names)
    return list(found)


def measured(name: str, sound: str, number: int) -> tuple[Score, Score]:
    """Run one row.

    Parameters
    ----------
    name : str
        Of `ROWS`.
    sound : str
        Of `SOUNDS`, one that the row can be played on.
    number : int
        Which seed, from 0.

    Returns
    -------
    ours, peers : Score
    """
    row, seed = ROWS[name], FIRST_SEED + number
    take = row.change(SOUNDS[sound].take(row.play(seed)), seed)
    return Score.of(take, row.listen(take), row.counts), Score.of(take, heard_by_peer(take), row.counts)
