"""What the rows play: short passages in which the thing that a row is about comes again and again.

The problem: over random rolls a hard case comes once in a hundred notes, and its misses drown in the rest.
Here it comes in every bar, inside a roll on other strings, at places, tempos and distances drawn by the seed.

Conventions: eighths, eight a bar. Strings ring until they are struck again, so what a row is about rings
where its row says so. The notes that a row is about are *watched*; each may have a pitch that must not be
heard with it. The strings around it never sound a pitch that is watched.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from feedback.played import Performance, PlayedNote, rung
from routines.lick import Technique
from routines.neck import Neck
from tests.bench.note_scores import Played

BARS = 4
START_SEC = 0.5

Fretted = tuple[int, int]
"""A string and a fret."""

_Offered = TypeVar("_Offered")
_JITTER_MS = 4.0
_PINCH_APART_MS = (0.5, 4.0)
_DYNAMICS_DB = 2.0
_WILDEST = 2.5
_SLURRED_DB = -4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """What is played, and on what.

    Attributes
    ----------
    performance : Performance
    watched : mapping of (int, int) to (int or None)
        A string, and the number of the note on it, to a pitch that is not to be heard with that note.
    tuning_cents : float or None
        How far the whole instrument is off; None as it is drawn.
    string_cents : tuple of float
        How far strings 1 to 5 are off besides.
    choke_reach : float
        How much of the rise that its chokes name is made, 0 to 1.
    """

    performance: Performance
    watched: Mapping[tuple[int, int], int | None]
    tuning_cents: float | None = None
    string_cents: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0, 0.0)
    choke_reach: float = 1.0

    def truth(self, came_true: Performance) -> tuple[Played, ...]:
        """The truth of this passage as an instrument played it: onsets may differ by what its sound needs."""
        turns = dict.fromkeys(range(1, 6), 0)
        found = []
        for note in came_true.notes:
            key = (note.string, turns[note.string])
            turns[note.string] += 1
            rise = 100.0 * (note.midi - note.struck_midi) * self.choke_reach if note.how == "choke" else 0.0
            found.append(
                Played(
                    onset_sec=note.sounds_sec,
                    midi=note.struck_midi,
                    how=note.how,
                    watched=key in self.watched,
                    unwanted_midi=self.watched.get(key),
                    rise_cents=rise,
                    ends_sec=note.onset_sec + note.duration_sec,
                )
            )
        return tuple(found)


def truth_of(played: Performance) -> tuple[Played, ...]:
    """The truth of a performance, as it came true, in which no note is watched."""
    return Passage(performance=played, watched={}).truth(played)


class Hand:
    """Lays notes on the clock of eighths, a little unevenly, and remembers which are watched.

    Parameters
    ----------
    seed : int
    least_nps, most_nps : float
        Eighths a second are drawn between these.
    """

    def __init__(self, seed: int, least_nps: float, most_nps: float) -> None:
        self.rng = np.random.default_rng(seed)
        self.nps = float(self.rng.uniform(least_nps, most_nps))
        self._seed = seed
        self._neck = Neck()
        self._notes: list[tuple[PlayedNote, bool, int | None]] = []

    def play(
        self,
        eighth: float,
        place: Fretted,
        technique: Technique = "pick",
        *,
        watched: bool = False,
        unwanted_midi: int | None = None,
        choked: int = 0,
        choke_sec: float = 0.0,
        offset_ms: float | None = None,
    ) -> None:
        """Play one note at a place of the take, in eighths; a choke rises by half steps within seconds."""
        string, fret = place
        picked = technique in ("pick", "choke")
        late_ms = self._drawn(_JITTER_MS) if offset_ms is None else offset_ms
        onset = START_SEC + eighth / self.nps + late_ms / 1e3
        midi = self.midi(place)
        note = PlayedNote(
            onset_sec=onset,
            midi=midi + choked,
            string=string,
            fret=fret,
            how=technique,
            picked=picked,
            level_db=self._drawn(_DYNAMICS_DB) + (0.0 if picked else _SLURRED_DB),
            from_midi=midi if choked else None,
            arrive_sec=onset + choke_sec if choked else None,
        )
        self._notes.append((note, watched, unwanted_midi))

    def pinch(self, eighth: float, *places: Fretted, watched: Fretted) -> None:
        """Play several strings together, a few milliseconds apart, in any order."""
        offset_ms = self._drawn(_JITTER_MS)
        for index in self.rng.permutation(len(places)):
            place = places[int(index)]
            self.play(eighth, place, watched=place == watched, offset_ms=offset_ms)
            offset_ms += float(self.rng.uniform(*_PINCH_APART_MS))

    def midi(self, place: Fretted) -> int:
        """The pitch of a place."""
        return self._neck.midi(*place)

    def one_of(self, offered: Sequence[_Offered]) -> _Offered:
        """Draw one, each as likely."""
        return offered[int(self.rng.integers(len(offered)))]

    def around(
        self, eighths: Iterable[float], *, strings: Iterable[int], near_fret: int, never: Iterable[int] = ()
    ) -> None:
        """Roll on the strings left over: open or near a fret, none twice in turn, never some pitches."""
        barred = set(never)
        offered: dict[int, list[Fretted]] = {}
        for string in strings:
            frets = [0] if string == 5 else [0, *range(max(1, near_fret - 1), min(22, near_fret + 2) + 1)]
            places = [(string, fret) for fret in frets if self.midi((string, fret)) not in barred]
            if places:
                offered[string] = places
        # one shape is held: each string keeps its fret
        shape = {string: self.one_of(places) for string, places in offered.items()}
        last = 0
        for eighth in eighths:
            free = [string for string in shape if string != last] or list(shape)
            last = int(self.rng.choice(free))
            self.play(eighth, shape[last])

    def passage(self, *, choke_reach: float = 1.0) -> Passage:
        """All that was played."""
        watched: dict[tuple[int, int], int | None] = {}
        for string in range(1, 6):
            line = sorted((n for n in self._notes if n[0].string == string), key=lambda n: n[0].onset_sec)
            watched |= {(string, turn): n[2] for turn, n in enumerate(line) if n[1]}
        return Passage(
            performance=Performance(
                notes=rung([note for note, _, _ in self._notes], ()),
                lick_id="",
                tempo_half_bpm=15.0 * self.nps,
                start_sec=START_SEC,
                mistakes=(),
                seed=self._seed,
                open_midi={string: self._neck.open_midi(string) for string in range(1, 6)},
            ),
            watched=watched,
            choke_reach=choke_reach,
        )

    def _drawn(self, size: float) -> float:
        return size * float(np.clip(self.rng.standard_normal(), -_WILDEST, _WILDEST))


def bars() -> range:
    """The first eighth of each bar."""
    return range(0, 8 * BARS, 8)


def half_bars() -> range:
    """The first eighth of each half bar."""
    return range(0, 8 * BARS, 4)


def rest_of(seed: int, sec: float) -> Passage:
    """Nothing at all, for so many seconds and the renderer's tail."""
    neck = Neck()
    silence = Performance(
        notes=(),
        lick_id="",
        tempo_half_bpm=120.0,
        start_sec=sec,
        mistakes=(),
        seed=seed,
        open_midi={string: neck.open_midi(string) for string in range(1, 6)},
    )
    return Passage(performance=silence, watched={})
