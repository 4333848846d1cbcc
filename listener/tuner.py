"""The tuner: one plucked string at a time, its pitch followed while it decays. No device, no clock inside.

The problem: a string is to be named soon after the pluck, while the knock of the pick and other strings are
still there; then it decays, and others that answer it ring on. So three things are done apart. A pluck is
looked for where sound begins (`listener.strikes`), or a tone stands that nobody plucked. It is named from
what is new since before, and once more from a longer stretch (`listener.naming`). Then it is followed,
keeping its name, until it has faded (`listener.ringing`).

Conventions: everything is counted in hops of one length from the first sample, so no reading depends on how
the sound was cut into blocks. A reading's string is the reference nearest in cents: two strings three half
steps apart (B3 and D4) are told apart to one and a half; a string that is off by more is taken for another.
Where nothing is played, or it has no pitch, nothing is said.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from listener.ear import RATES
from listener.framing import Hops, Past, cleaned
from listener.naming import BEFORE_SEC, STEADY_SEC, Namer, NamingSettings, level_db
from listener.plucked import Pitched
from listener.ringing import LONGEST_SEC, Followed, Ringing
from listener.strikes import Strike, StrikeFinder, StrikeSettings

_A4_MIDI, _A4_HZ = 69.0, 440.0
_MIDI_LOW, _MIDI_HIGH = 30.0, 100.0
_APART_SEC, _SOON_SEC = 0.03, 0.1  # strikes nearer together are one pluck; what comes before one may be noise
_LOOK_SEC = 0.1  # so often a tone is looked for that nobody plucked
_OTHER_CENTS, _GLIDES_CENTS = 60.0, 20.0
_MISSES = 3
_FADED_DB = 3.0
_GROWS_DB = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TunerSettings:
    """How a tuner listens.

    Attributes
    ----------
    naming : NamingSettings
    below, above : float
        Half steps under the lowest reference and above the highest in which a pitch is looked for: room for a
        string that is off, and for the twelfth fret.
    named_sec : tuple of float
        Ages at which a note is named, and named again.
    every_sec : float
        From reading to reading.
    aged_sec, steady_cents : float
        A steady reading is of a note so old and no more unsure than that.
    fades_db : float
        So far under its loudest reading a note is not followed any more.
    """

    naming: NamingSettings = field(default_factory=NamingSettings)
    below: float = 4.5
    above: float = 14.0
    named_sec: tuple[float, float] = (0.15, 0.3)
    every_sec: float = 0.1
    aged_sec: float = 0.5
    steady_cents: float = 3.0
    fades_db: float = 42.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a string's pitch is at a moment.

    Attributes
    ----------
    sec : float
        End of the sound that it was read from, counted from the first sample that was fed.
    plucked_sec : float
        When the note began.
    hz : float
        Of the first partial, heard or not.
    midi : float
        The same in half steps, A4 = 69 = 440 Hz.
    nearest : int
        Index of the nearest reference.
    cents : float
        Off that; positive is sharp.
    unsure_cents : float
        The pitch lies within so much of it nineteen times in twenty, as far as the partials tell.
    level_db : float
        Of its partials, in dB of full scale.
    steady : bool
        Whether the sharp beginning is over and the pitch is still.
    plucked : bool
        Whether it was struck, or fades as a string does; what just stands there is hum, or a machine.
    """

    sec: float
    plucked_sec: float
    hz: float
    midi: float
    nearest: int
    cents: float
    unsure_cents: float
    level_db: float
    steady: bool
    plucked: bool = True


@dataclass(slots=True)
class _Note:
    """The note that is followed: when it is due, and how loud it was."""

    ringing: Ringing
    due: int
    struck: bool
    renamed: bool = False
    misses: int = 0
    loudest_db: float = -np.inf
    softest_db: float = np.inf


class Tuner:
    """Reads the pitch of one plucked string at a time.

    Parameters
    ----------
    rate : int
        Samples a second, one of `listener.ear.RATES`.
    references : sequence of float
        MIDI numbers, fractions allowed, of the strings.
    settings : TunerSettings, optional

    Raises
    ------
    ValueError
        If the rate is not one of these, or there is no reference, or one is out of range.
    """

    def __init__(self, rate: int, references: Sequence[float], settings: TunerSettings | None = None) -> None:
        if rate not in RATES:
            raise ValueError(f"sample rate {rate}; a tuner hears at {' or '.join(map(str, RATES))} Hz")
        if not len(references) or not all(_MIDI_LOW <= one <= _MIDI_HIGH for one in references):
            raise ValueError(
                f"references {list(references)}; one or more from MIDI {_MIDI_LOW:g} to {_MIDI_HIGH:g}"
            )
        self.rate = rate
        self._set = settings = settings or TunerSettings()
        self._references = np.array(references, float)
        low_hz, high_hz = hz_of(min(references) - settings.below), hz_of(max(references) + settings.above)
        self._namer = Namer(rate, low_hz, high_hz, settings.naming)
        self._hops = Hops(StrikeSettings().hop_samples)
        self._strikes = StrikeFinder(rate)
        span_sec = max(LONGEST_SEC, settings.named_sec[1] + BEFORE_SEC, STEADY_SEC) + 0.1
        self._past = Past(max(self._in(span_sec), self._strikes.look_back_samples))
        self._struck: deque[Strike] = deque()
        self._note: _Note | None = None
        self._look_due = 0

    def reset(self) -> None:
        """Forget everything; the next sample fed is sample 0."""
        for part in (self._hops, self._past, self._strikes):
            part.reset()
        self._struck.clear()
        self._note = None
        self._look_due = 0

    def feed(self, samples: np.ndarray) -> list[Reading]:
        """Listen on.

        Parameters
        ----------
        samples : ndarray of float32, shape (n,)
            Mono, full scale is 1; any n. What is no number counts as silence.

        Returns
        -------
        list of Reading
            In order; mostly none or one.

        Raises
        ------
        ValueError
            If the array has more than one dimension.
        """
        if np.ndim(samples) != 1:
            raise ValueError(f"samples of shape {np.shape(samples)}; one channel, shape (n,), is needed")
        readings: list[Reading] = []
        for hop in self._hops.feed(cleaned(samples)):
            self._past.append(hop)
            strike = self._strikes.feed(self._past)
            if strike is not None:
                self._await(strike)
            self._take_up()
            if self._note is not None and self._past.end >= self._note.due:
                readings += self._read(self._note)
        return readings

    def _await(self, strike: Strike) -> None:
        """Have a strike wait until enough of it is there; a stronger one soon after it takes its place."""
        while self._struck and strike.sample - self._struck[-1].sample < self._in(_SOON_SEC):
            if strike.strength <= self._struck[-1].strength:
                break
            self._struck.pop()
        last = self._struck[-1].sample if self._struck else -self.rate
        if strike.sample > last + self._in(_APART_SEC):
            self._struck.append(strike)

    def _take_up(self) -> None:
        """Look whether a string was plucked that long ago, or whether something sounds at all."""
        now = self._past.end
        if self._struck and now >= self._struck[0].sample + self._in(self._set.named_sec[0]):
            struck = self._struck.popleft().sample
            self._begin(struck, self._namer.struck(self._past, struck), struck=True)
        elif self._note is None and not self._struck and now >= self._look_due:
            self._look_due = now + self._in(_LOOK_SEC)
            self._begin(now - self._in(STEADY_SEC), self._namer.steady(self._past), struck=False)

    def _begin(self, begun: int, name: Pitched | None, *, struck: bool) -> None:
        if name is not None:
            ringing = Ringing(self.rate, begun, name.hz, name.stiffness)
            self._note = _Note(ringing, due=self._past.end, struck=struck)

    def _read(self, note: _Note) -> list[Reading]:
        """Read the note that is followed; nothing where it is lost, and no more where it is over."""
        note.due = self._past.end + self._in(self._set.every_sec)
        if not self._keeps_its_name(note):
            self._note = None
            return []
        found = note.ringing.look(self._past)
        loud_db = -np.inf if found is None else level_db(found.power)
        least_db = max(self._set.naming.quietest_db, note.loudest_db - self._set.fades_db)
        if found is None or loud_db < least_db:
            note.misses += 1
            if note.misses >= _MISSES:
                self._note = None
            return []
        if loud_db > note.softest_db + _GROWS_DB:  # no string gets louder by itself
            self._note = None
            return []
        note.misses = 0
        note.loudest_db, note.softest_db = max(note.loudest_db, loud_db), min(note.softest_db, loud_db)
        plucked = note.struck or note.loudest_db - loud_db >= _FADED_DB
        return [self._reading(note.ringing, found, loud_db, plucked=plucked)]

    def _keeps_its_name(self, note: _Note) -> bool:
        """Name a note once more when more of it is there; false where it turns out to glide as a voice."""
        if note.renamed or self._past.end < note.ringing.begun + self._in(self._set.named_sec[1]):
            return True
        note.renamed = True
        name = self._namer.again(self._past, note.ringing.begun)
        if name is None:
            return True
        apart = note.ringing.away_cents(name.hz)
        if apart > _OTHER_CENTS:  # an early word on the octave came too early
            note.ringing.rename(name.hz, name.stiffness)
        return not _GLIDES_CENTS < apart <= _OTHER_CENTS

    def _reading(self, ringing: Ringing, found: Followed, loud_db: float, *, plucked: bool) -> Reading:
        midi = _A4_MIDI + 12.0 * float(np.log2(found.hz / _A4_HZ))
        nearest = int(np.abs(self._references - midi).argmin())
        aged = self._past.end - ringing.begun >= self._in(self._set.aged_sec)
        return Reading(
            sec=self._past.end / self.rate,
            plucked_sec=ringing.begun / self.rate,
            hz=found.hz,
            midi=midi,
            nearest=nearest,
            cents=100.0 * (midi - float(self._references[nearest])),
            unsure_cents=found.unsure_cents,
            level_db=loud_db,
            steady=aged and found.still and found.unsure_cents <= self._set.steady_cents,
            plucked=plucked,
        )

    def _in(self, seconds: float) -> int:
        return round(seconds * self.rate)


def hz_of(midi: float) -> float:
    """Frequency of a MIDI number, fractions allowed: 69 is 440 Hz."""
    return float(_A4_HZ * 2.0 ** ((midi - _A4_MIDI) / 12.0))
