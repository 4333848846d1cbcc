"""Paths of moving pitch: chokes and slides that were followed, plain notes that were taken for such.

    python -m tests.bench paths [--sound simulated] [--seeds 16]

What is followed is `listener.gliding.Glide`, put on the true onsets: what the ear itself misses is no matter
here. Chokes and picked slides replace stopped notes of random rolls (4 to 11 eighths a second; those of a
pinch are counted apart), or stand alone; the simulated player chokes by fractions of half steps, too. Plain
notes are those of rolls without any; those that are slurred on within a quarter of a second stand apart.

Columns: notes, share with a path; of those, how far the end lies from where the pitch went (median of cents,
share within 15 and within 35).
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from feedback.errors import Usage
from feedback.played import Performance, PlayedNote
from feedback.sound.voice import arrived
from listener.framing import Past
from listener.gliding import Glide, GlideSettings
from tests.bench.passages import Passage
from tests.bench.rolls import RollSettings, random_rolls
from tests.bench.sounds import RATE, SOUNDS

HELP = "chokes and slides that were followed, and paths of plain notes"

_NPS = (4.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0)
_REACHES = (1.0, 0.7, 0.5)
_FIRST_SEED = 6000
_BENT_SHARE = 0.25
_BARS = 6
_SLIDE_SHARE = 0.35
_CHOKE_SEC, _FRET_SEC = (0.060, 0.200), (0.025, 0.045)
_ALONE_SEC, _ALONE_RINGS_SEC = 0.8, 0.7
_TUNING_CENTS = 9.0
_HOP = 128
_HEARD_SEC = 0.050
_NEAR_SEC = 0.020
_SLURRED_SEC = 0.250


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """A note, what it is, its path, and how far the path's end is off; None without a path."""

    what: str
    path: tuple[tuple[float, float], ...]
    off_cents: float | None


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what `paths` takes."""
    names = [name for name in SOUNDS if name != "timgm6mb"]
    parser.add_argument(
        "--sound", choices=list(SOUNDS), action="append", help=f"may be repeated (default {' '.join(names)})"
    )
    parser.add_argument("--seeds", type=int, default=16, help="takes of each kind (default 16)")
    parser.set_defaults(sounds=names)


def run(args: argparse.Namespace) -> int:
    """Print a table for each sound."""
    if args.seeds < 1:
        raise Usage(f"{args.seeds} seeds; 1 and more are accepted")
    for name in args.sound or args.sounds:
        SOUNDS[name].check()
        print(name)
        for line in table(name, range(_FIRST_SEED, _FIRST_SEED + args.seeds)):
            print(f"  {line}")
    return 0


def table(sound: str, seeds: range) -> Iterator[str]:
    """Lines, one a kind of note."""
    rows: dict[str, list[Followed]] = {}
    for seed in seeds:
        reach = _REACHES[seed % len(_REACHES)] if SOUNDS[sound].partial_chokes else 1.0
        nps = _NPS[seed % len(_NPS)]
        rolls = random_rolls(seed, nps, bars=_BARS, settings=RollSettings(choke_share=0.0))
        bent = _bent(rolls, np.random.default_rng([seed, 1]))
        for where, performance, wanted in (
            ("alone", _alone(seed), True),
            ("rolls", bent, True),
            ("plain", rolls, False),
        ):
            tuning = float(np.random.default_rng([seed, 2]).normal(0.0, _TUNING_CENTS))
            passage = Passage(performance=performance, watched={}, tuning_cents=tuning, choke_reach=reach)
            samples, came_true = SOUNDS[sound].play(passage)
            for found in followed(samples.astype(np.float32), came_true, tuning, where, reach):
                if wanted == found.what.startswith(("choke", "slide")):
                    rows.setdefault(found.what, []).append(found)
    for what in sorted(rows):
        yield f"{what:28} {_told(rows[what])}"


def followed(
    sound: np.ndarray, played: Performance, tuning_cents: float, where: str, reach: float
) -> list[Followed]:
    """Follow every note of a take from its true onset on, as an ear would that heard it 50 ms later."""
    settings = GlideSettings()
    past = Past(settings.back_samples(RATE) + _HOP)
    waiting = sorted(played.notes, key=lambda note: note.onset_sec)
    glides: list[tuple[PlayedNote, Glide]] = []
    live: list[Glide] = []
    for begin in range(0, len(sound) - _HOP + 1, _HOP):
        past.append(sound[begin : begin + _HOP])
        while waiting and (waiting[0].onset_sec + _HEARD_SEC) * RATE <= past.end:
            note = waiting.pop(0)
            glide = Glide(RATE, round(note.onset_sec * RATE), note.struck_midi, tuning_cents, settings)
            glides.append((note, glide))
            live.append(glide)
        for glide in live:
            glide.feed(past)
        live = [glide for glide in live if not glide.done]
    return [
        Followed(what=_what(note, played, where, reach), path=glide.path, off_cents=_off(note, glide, reach))
        for note, glide in glides
        if glide.done
    ]


def _what(note: PlayedNote, played: Performance, where: str, reach: float) -> str:
    """What kind of note it is, for its row."""
    if _bends(note):
        by = abs(note.midi - note.struck_midi)
        kind = f"choke {100.0 * by * reach:3.0f}" if note.how == "choke" else f"slide of {by}"
        beside = any(
            other is not note and abs(other.onset_sec - note.onset_sec) < _NEAR_SEC for other in played.notes
        )
        return f"{kind}, {'in a pinch' if where == 'rolls' and beside else where}"
    if not note.picked:
        return "slid into" if note.how == "slide" else "hammered or pulled"
    after = [n for n in played.notes if n.string == note.string and not n.picked]
    slurred = any(0.0 < n.onset_sec - note.onset_sec < _SLURRED_SEC for n in after)
    return "picked, soon slurred" if slurred else "picked"


def _off(note: PlayedNote, glide: Glide, reach: float) -> float | None:
    """How far the end of the path is from where the pitch was then."""
    if not glide.path:
        return None
    sec, cents = glide.path[-1]
    if not _bends(note):
        return abs(cents)
    until = min(sec, note.onset_sec + note.duration_sec) - note.onset_sec
    rise = 100.0 * (note.midi - note.struck_midi) * (reach if note.how == "choke" else 1.0)
    return abs(cents - rise * float(arrived(note, np.array([until]))[0]))


def _bends(note: PlayedNote) -> bool:
    return note.picked and note.from_midi is not None


def _told(found: list[Followed]) -> str:
    offs = np.array([f.off_cents for f in found if f.off_cents is not None])
    text = f"{len(found):6d}   {100.0 * len(offs) / len(found):6.2f} % with a path"
    if not len(offs) or not found[0].what.startswith(("choke", "slide of")):
        return text
    within = " ".join(f"{100.0 * float(np.mean(offs <= limit)):4.0f} %" for limit in (15.0, 35.0))
    return f"{text}   ends off by {float(np.median(offs)):4.1f} cents, within 15 and 35: {within}"


def _bent(rolls: Performance, rng: np.random.Generator) -> Performance:
    """The same rolls with some stopped notes choked, or slid within one stroke."""
    notes = []
    for note in rolls.notes:
        after = [n for n in rolls.notes if n.string == note.string and n.onset_sec > note.onset_sec]
        slurred = bool(after) and not after[0].picked
        bends = note.how == "pick" and note.fret >= 3 and note.string < 5 and not slurred
        notes.append(_moved(note, rng) if bends and rng.random() < _BENT_SHARE else note)
    return replace(rolls, notes=tuple(notes))


def _moved(note: PlayedNote, rng: np.random.Generator) -> PlayedNote:
    """A stroke that moves on by one or two half steps while it sounds."""
    by = int(rng.integers(1, 3))
    slides = rng.random() < _SLIDE_SHARE
    takes = by * float(rng.uniform(*_FRET_SEC)) if slides else float(rng.uniform(*_CHOKE_SEC))
    if slides and rng.random() < 0.5:
        by = -by
    return replace(
        note,
        how="slide" if slides else "choke",
        from_midi=note.midi,
        midi=note.midi + by,
        arrive_sec=note.onset_sec + min(takes, 0.9 * note.duration_sec),
    )


def _alone(seed: int) -> Performance:
    """Chokes and slides, each by itself, on the first three strings from the third fret to the fifteenth."""
    rng = np.random.default_rng([seed, 3])
    rolls = random_rolls(seed, _NPS[0], bars=1)
    notes = []
    for number in range(12):
        string, fret = int(rng.integers(1, 4)), int(rng.integers(3, 16))
        note = PlayedNote(
            onset_sec=rolls.start_sec + _ALONE_SEC * number,
            midi=rolls.open_midi[string] + fret,
            string=string,
            fret=fret,
            level_db=float(rng.normal(0.0, 2.5)),
            duration_sec=_ALONE_RINGS_SEC,
        )
        notes.append(_moved(note, rng))
    return replace(rolls, notes=tuple(notes))
