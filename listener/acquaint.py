"""Getting to know a banjo from half a minute of single notes that it was asked for.

The problem: on most instruments the listener that comes with the program hears rolls well; on a few it does
not, and nobody can say beforehand which. A short take of known notes tells where the banjo is tuned. Cut up
and laid over one another (`listener.composing`) it also makes rolls whose every note is known. From those of
one half of the notes the network's last layers learn (`listener.adapting`); on those of the other half it is
tried whether the ear hears better for it. Only then is what was learnt kept; else the tuning is all.

Conventions: the same take, list and seed give the same profile. The halves are every other note that was
found, so both have notes of every string of which two were found in a row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from listener.adapting import Descent, Rows, labelled, moved
from listener.asked import Answer, Asked, answered
from listener.composing import Roll, composed, cut
from listener.framing import Past
from listener.hand import Cut
from listener.instrument import OFF_MOST_CENTS, Profile, fingerprint
from listener.measures import Measurer
from listener.network import Network, last_layers, shipped
from listener.notes import NoteEvent
from listener.watching import NEAR_SEC, Listened, f_measure, listened, looked_at

_SURE = 0.8  # of what is that sure a note is taken to be there, asked for or not
_BESIDE_SEC = 0.06
_CLEARLY = 1.5
_FAR_CENTS = 25.0
_FAINT_DB = 20.0  # what is so far under the median of what was found is none of it
_TUNING_SD_CENTS = 3.0  # how well an ear knows the tuning while it listens
_NOISE_LEAST_SEC = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class AcquaintSettings:
    """How it is done.

    Attributes
    ----------
    learnt_rolls, tried_rolls : int
    roll_sec : float
        Length of each.
    least_followed, most_others : float
        The take is what was asked for where so great a share of the notes was found, and where of others at
        most so many were heard for each that was found.
    least_notes : int
        From so many whole notes on it is tried to learn.
    least_gain : float
        By so much F on the rolls to try must rise for what was learnt to be kept.
    descent : Descent
    """

    learnt_rolls: int = 8
    tried_rolls: int = 4
    roll_sec: float = 8.0
    least_followed: float = 0.3
    most_others: float = 0.5
    least_notes: int = 20
    least_gain: float = 0.01
    descent: Descent = field(default_factory=Descent)


@dataclass(frozen=True, slots=True)
class Found:
    """An asked note that was found: when, how far off (A4 = 440 Hz), how loud, whether the ear said it."""

    onset_sec: float
    cents: float
    level_db: float
    heard: bool


@dataclass(frozen=True, slots=True)
class Tried:
    """How well rolls of the half that was not learnt from are heard: how many notes, F before and after."""

    notes: int
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Acquaintance:
    """What came of it.

    Attributes
    ----------
    found : tuple of Found or None
        For each asked note.
    others : int
        Notes that were heard and were not asked for there.
    tuning_cents : float or None
        The whole instrument against A4 = 440 Hz; None where the take is not what was asked for.
    tried : Tried or None
        None where too little was found to learn from.
    profile : Profile or None
        None where the take is not what was asked for, or the instrument is tuned to other half steps.
    """

    found: tuple[Found | None, ...]
    others: int
    tuning_cents: float | None
    tried: Tried | None
    profile: Profile | None


def acquaint(
    sound: np.ndarray,
    rate: int,
    asked: Sequence[Asked],
    *,
    seed: int = 0,
    settings: AcquaintSettings | None = None,
) -> Acquaintance:
    """Get to know the instrument of a take.

    Parameters
    ----------
    sound : ndarray of float32, shape (n,)
        Mono, full scale is 1.
    rate : int
        One of `listener.ear.RATES`.
    asked : sequence of Asked
        What the player was asked to play, in that order.
    seed : int
    settings : AcquaintSettings, optional

    Returns
    -------
    Acquaintance
    """
    chosen = settings or AcquaintSettings()
    take, found = _listened(sound, rate, asked, 0.0)
    first_cents = _median_cents(found)
    if first_cents is not None and _FAR_CENTS < abs(first_cents) <= OFF_MOST_CENTS:
        # So near to the next half step the ear may have changed its mind on the way.
        take, found = _listened(sound, rate, asked, first_cents)
    others = len(take.notes) - sum(one is not None and one.heard for one in found)
    tuning_cents, there = _median_cents(found), sum(one is not None for one in found)
    unlike = there < chosen.least_followed * len(asked) or others > chosen.most_others * there
    if tuning_cents is None or unlike:
        return Acquaintance(found, others, None, None, None)
    if abs(tuning_cents) > OFF_MOST_CENTS:
        return Acquaintance(found, others, tuning_cents, None, None)
    profile = Profile(tuning_cents=tuning_cents, string_cents=_string_cents(asked, found, tuning_cents))
    begins = sorted({one.onset_sec for one in found if one is not None} | _sure(take.notes))
    cuts, noise = _cut_up(sound, rate, asked, found, begins)
    if len(cuts) < chosen.least_notes:
        return Acquaintance(found, others, tuning_cents, None, profile)
    rolls = _Rolls(rate, noise, chosen.roll_sec, seed)
    arrays = _learnt(rolls.of(cuts[::2], chosen.learnt_rolls), rate, tuning_cents, chosen.descent, seed)
    adapted = replace(profile, arrays=arrays, grown_from=fingerprint())
    tried = _tried(rolls.of(cuts[1::2], chosen.tried_rolls), rate, profile, adapted)
    better = tried.after - tried.before >= chosen.least_gain
    return Acquaintance(found, others, tuning_cents, tried, adapted if better else profile)


def _answers(asked: Sequence[Asked], take: Listened) -> tuple[int, list[Answer]]:
    """How many half steps too high the ear took the instrument to be, and the answers as it heard them.

    An instrument half a half step off may be taken for its neighbour; the list tells.
    """
    found = {
        shift: answered(
            [Asked(note.midi + shift, note.string) for note in asked], take.onset_sec, take.log_odds
        )
        for shift in (0, 1, -1)
    }
    best = max(found, key=lambda shift: len(found[shift]))
    shift = best if len(found[best]) > _CLEARLY * len(found[0]) else 0
    return shift, found[shift]


def _listened(
    sound: np.ndarray, rate: int, asked: Sequence[Asked], start_cents: float
) -> tuple[Listened, tuple[Found | None, ...]]:
    """What is heard, and which of it was asked for."""
    take = listened(sound, rate, start_cents)
    shift, answers = _answers(asked, take)
    return take, _measured(sound, rate, asked, answers, take, shift)


def _median_cents(found: Sequence[Found | None]) -> float | None:
    cents = [one.cents for one in found if one is not None]
    return float(np.median(cents)) if cents else None


def _string_cents(
    asked: Sequence[Asked], found: Sequence[Found | None], tuning_cents: float
) -> dict[int, float]:
    """How far each string is off from the whole."""
    own: dict[int, list[float]] = {}
    for note, one in zip(asked, found, strict=True):
        if one is not None:
            own.setdefault(note.string, []).append(one.cents)
    return {string: float(np.median(cents)) - tuning_cents for string, cents in sorted(own.items())}


def _sure(notes: Sequence[NoteEvent]) -> set[float]:
    return {note.onset_sec for note in notes if note.confidence >= _SURE}


def _measured(
    sound: np.ndarray,
    rate: int,
    asked: Sequence[Asked],
    answers: Sequence[Answer],
    take: Listened,
    shift: int,
) -> tuple[Found | None, ...]:
    measurer = Measurer(rate)
    past = Past(len(sound) + 2 * measurer.ahead_samples + measurer.back_samples)
    past.append(sound)
    past.append(np.zeros(measurer.ahead_samples, np.float32))
    found: list[Found | None] = [None] * len(asked)
    where_cents = take.tuning_cents + 100.0 * shift
    if abs(take.tuning_cents) > _FAR_CENTS and abs(where_cents) > OFF_MOST_CENTS:
        where_cents = take.tuning_cents  # it changed its mind after most were heard
    for answer in answers:
        note, sec = asked[answer.asked], float(take.onset_sec[answer.strike])
        measured = measurer.measure(past, round(sec * rate), note.midi, where_cents)
        heard = any(
            event.midi == note.midi + shift and abs(event.onset_sec - sec) <= NEAR_SEC for event in take.notes
        )
        found[answer.asked] = Found(sec, measured.deviation_cents, measured.level_db, heard)
    usual_db = np.median([one.level_db for one in found if one is not None] or [0.0])
    return tuple(one if one is not None and one.level_db > usual_db - _FAINT_DB else None for one in found)


def _cut_up(
    sound: np.ndarray,
    rate: int,
    asked: Sequence[Asked],
    found: Sequence[Found | None],
    begins: Sequence[float],
) -> tuple[list[Cut], np.ndarray]:
    """The notes that were found, cut out, and the noise before the first."""
    cuts = []
    for note, one in zip(asked, found, strict=True):
        if one is None:
            continue
        next_sec = next((sec for sec in begins if sec > one.onset_sec + _BESIDE_SEC), len(sound) / rate)
        piece = cut(sound, rate, one.onset_sec, next_sec)
        if piece is not None:
            cuts.append(Cut(note.midi, note.string, piece))
    noise = sound[: max(0, int((begins[0] - 0.5 * _BESIDE_SEC) * rate))]
    return cuts, noise if len(noise) >= _NOISE_LEAST_SEC * rate else noise[:0]


class _Rolls:
    """Composes rolls, none like another."""

    def __init__(self, rate: int, noise: np.ndarray, roll_sec: float, seed: int) -> None:
        self._rate, self._noise, self._roll_sec = rate, noise, roll_sec
        self._dice = np.random.default_rng([seed, 1])

    def of(self, cuts: Sequence[Cut], count: int) -> list[Roll]:
        return [
            composed(dice, cuts, self._rate, noise=self._noise, duration_sec=self._roll_sec)
            for dice in self._dice.spawn(count)
        ]


def _learnt(
    rolls: Sequence[Roll], rate: int, tuning_cents: float, descent: Descent, seed: int
) -> dict[str, np.ndarray]:
    dice = np.random.default_rng([seed, 2])
    network = Network(shipped())
    parts = []
    for roll in rolls:
        known_cents = tuning_cents + float(dice.normal(0.0, _TUNING_SD_CENTS))
        onset_sec, joined = looked_at(roll.sound, rate, network, known_cents)
        parts.append(Rows.of(joined, last_layers(shipped(), joined), labelled(onset_sec, roll.notes)))
    return moved(shipped(), Rows.joined(parts), descent, dice)


def _tried(rolls: Sequence[Roll], rate: int, tuned: Profile, adapted: Profile) -> Tried:
    notes, before = f_measure(rolls, rate, tuned.scorer)
    _, after = f_measure(rolls, rate, adapted.scorer)
    return Tried(notes, before, after)
