"""The ear: samples in, reports about notes out. No file, no device, no clock.

Each hop is remembered, looked at for a strike, and every strike is handed to the scorer as soon as enough
sound has followed it. A pitch that the scorer is sure enough of is heard at the end of that hop. When its
first 70 ms are over it is measured; its pitch is followed until it is clear whether it moves
(`listener.gliding`), and then the note is settled. Nothing is ever decided by how the sound was cut into
blocks: a hop is the unit, and times of hearing are ends of hops. So a take cut just after `heard_sec` already
yields the note, and cut just after `settled_sec` yields it as it stays.

An ear that knows what to expect gives its first word sooner: a strike is handed to early scorers, too, what
they are sure of is heard at once, and the last scorer confirms it or has it withdrawn. The plain ear has only
the last, and withdraws nothing. A choke is heard at the pitch where it began, its way is in `path`; a slide
out of a sounding note is another note where it arrives.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from listener.expecting import Expectation, Expected
from listener.framing import Hops, Past, cleaned
from listener.gliding import Glide, GlideSettings
from listener.growing import Growing
from listener.informed import informed_scorers
from listener.measures import Levels, Measurer
from listener.notes import NoteEvent, Report
from listener.offset import TuningOffset
from listener.scorer import NetworkScorer, Scorer, Struck
from listener.strikes import Strike, StrikeFinder, StrikeSettings
from listener.turns import Turns

RATES = (44100, 48000)
"""Sample rates that an ear hears at, in Hz."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EarSettings:
    """How an ear is built.

    Attributes
    ----------
    strikes : StrikeSettings
    scorer : callable
        Makes the scorer for a sample rate, for an ear that listens blind.
    informed : callable
        Makes the scorers for a sample rate and what is expected: early ones first, each looking farther
        ahead, the last one having the last word.
    glide : GlideSettings
    again_sec : float
        The same pitch sooner than this after itself is the same note.
    sure, company_sec : float
        What is less sure than that is said only in the company of a note as sure as that, at the same strike
        or so long before: talk makes a doubtful note now and then, a banjo hardly ever makes nothing else.
    faint_db : float
        What an informed ear heard and then measures so far under the median of the sure notes before it was
        no stroke, but a finger that left its string or a string that was stopped.
    unled_sec, unled_level_db : float
        So soon after the first sample nothing is known of what came before, and noise itself begins: what is
        softer than this, in dB of full scale, is no note there.
    """

    strikes: StrikeSettings = field(default_factory=StrikeSettings)
    scorer: Callable[[int], Scorer] = NetworkScorer
    informed: Callable[[int, Expected], Sequence[Scorer]] = informed_scorers
    glide: GlideSettings = field(default_factory=GlideSettings)
    again_sec: float = 0.045
    sure: float = 0.95
    company_sec: float = 1.5
    faint_db: float = 25.0
    unled_sec: float = 0.05
    unled_level_db: float = -55.0


class Ear:
    """Hears notes.

    Parameters
    ----------
    rate : int
        Samples a second, one of `RATES`.
    settings : EarSettings
    expectations : sequence of Expectation, or Expected
        What may well begin when; without any the ear listens blind. An `Expected` may be renewed by its owner
        while the ear listens, and is no blind ear's though it be empty.

    Raises
    ------
    ValueError
        If the rate is not one of `RATES`.
    """

    def __init__(
        self,
        rate: int,
        *,
        settings: EarSettings | None = None,
        expectations: Sequence[Expectation] | Expected = (),
    ) -> None:
        if rate not in RATES:
            raise ValueError(f"sample rate {rate}; an ear hears at {' or '.join(map(str, RATES))} Hz")
        self.rate = rate
        self._set = settings = settings or EarSettings()
        self._hop_samples = settings.strikes.hop_samples
        self._hops = Hops(self._hop_samples)
        self._strikes = StrikeFinder(rate, settings.strikes)
        given = isinstance(expectations, Expected)
        expected = expectations if isinstance(expectations, Expected) else Expected(expectations)
        informed = given or len(expected) > 0
        self._turns = Turns(settings.informed(rate, expected) if informed else [settings.scorer(rate)])
        self._levels = Levels(settings.faint_db if informed else np.inf)
        self._measurer = Measurer(rate)
        ahead = max(self._turns.ahead_samples, self._measurer.ahead_samples)
        back = max(self._turns.back_samples, self._measurer.back_samples, self._strikes.look_back_samples)
        span = max(ahead + back, settings.glide.back_samples(rate))
        self._past = Past(span + 4 * self._hop_samples)
        self._tuning = TuningOffset()
        self._growing: list[Growing] = []
        self._last: dict[int, int] = {}
        self._company: int | None = None
        self._count = 0
        self._fed = 0
        self._over = False

    @property
    def tuning_cents(self) -> float:
        """How far the instrument is tuned from A4 = 440 Hz, as far as is known by now."""
        return self._tuning.cents

    def reset(self) -> None:
        """Forget everything; the next sample fed is sample 0 of another take."""
        for part in (self._hops, self._past, self._strikes, self._turns, self._tuning, self._levels):
            part.reset()
        self._growing.clear()
        self._last.clear()
        self._company = None
        self._count = 0
        self._fed = 0
        self._over = False

    def feed(self, samples: np.ndarray) -> list[Report]:
        """Listen on.

        Parameters
        ----------
        samples : ndarray of float32, shape (n,)
            Mono, full scale is 1; any n. What is no number counts as silence.

        Returns
        -------
        list of Report
            In the order in which they became known.

        Raises
        ------
        ValueError
            If the array has more than one dimension.
        """
        if np.ndim(samples) != 1:
            raise ValueError(f"samples of shape {np.shape(samples)}; one channel, shape (n,), is needed")
        self._fed += len(samples)
        reports: list[Report] = []
        for hop in self._hops.feed(cleaned(samples)):
            self._past.append(hop)
            strike = self._strikes.feed(self._past)
            if strike is not None:
                self._turns.add(strike)
            self._settle(reports)
            self._hear(reports)
        return reports

    def flush(self) -> list[Report]:
        """End of the take: settle what was heard, and add nothing; no pitch is followed beyond the end.

        Returns
        -------
        list of Report
            One "settled" for each note that was still growing, `settled_sec` being the end of the take.
        """
        end_sec = self._fed / self.rate
        self._over = True
        for growing in self._growing:
            growing.glide.end()
        silence = np.zeros(self._hop_samples, np.float32)
        reports: list[Report] = []
        while self._growing:
            for hop in self._hops.feed(silence):
                self._past.append(hop)
            self._settle(reports, end_sec)
        return reports

    def _hear(self, reports: list[Report]) -> None:
        for strike, pitches, last in self._turns.due(self._past, self._tuning):
            if last:
                self._conclude(strike, pitches, reports)
            else:
                self._say(strike, pitches, reports, confirmed=False)

    def _conclude(self, strike: Strike, pitches: Sequence[Struck], reports: list[Report]) -> None:
        """The last word on a strike: what was said early stands or goes, what was not said yet is said."""
        standing = {struck.midi: struck for struck in pitches if not struck.doubtful}
        if any(struck.confidence >= self._set.sure for struck in standing.values()):
            self._company = strike.sample
        for growing in [g for g in self._growing if g.sample >= strike.sample and not g.confirmed]:
            struck = standing.get(growing.note.midi)
            if struck is not None and growing.sample == strike.sample:
                growing.note = replace(growing.note, confidence=struck.confidence)
                growing.confirmed = True
            elif struck is not None or growing.sample == strike.sample:
                self._withdraw(growing, reports)  # not borne out, or a candidate after it of the same stroke
        self._say(strike, pitches, reports, confirmed=True)

    def _withdraw(self, growing: Growing, reports: list[Report]) -> None:
        """Take back a note; its pitch may be heard again at once."""
        self._growing.remove(growing)
        if self._last.get(growing.note.midi) == growing.sample:
            del self._last[growing.note.midi]
        reports.append(Report("withdrawn", growing.number, growing.note))

    def _say(
        self, strike: Strike, pitches: Sequence[Struck], reports: list[Report], *, confirmed: bool
    ) -> None:
        """Report the pitches of a strike that may be said and were not said yet."""
        for struck in pitches:
            if not (struck.asked or self._has_company(strike.sample)):
                continue
            last = self._last.get(struck.midi)
            if last is not None and strike.sample - last < self._set.again_sec * self.rate:
                continue
            level_db = self._level_so_far(strike.sample)
            unled = strike.sample < self._set.unled_sec * self.rate
            if unled and level_db < self._set.unled_level_db:
                continue
            note = NoteEvent(
                onset_sec=strike.sample / self.rate,
                midi=struck.midi,
                cents=0.0,
                level_db=level_db,
                confidence=struck.confidence,
                heard_sec=self._past.end / self.rate,
                settled_sec=self._measure_sample(strike.sample) / self.rate,
            )
            number, self._count = self._count, self._count + 1
            if struck.doubtful:
                reports.append(Report("doubtful", number, note))
                continue
            self._last[struck.midi] = strike.sample
            cents = self._tuning.cents
            glide = Glide(self.rate, strike.sample, struck.midi, cents, self._set.glide)
            self._growing.append(Growing(number, strike.sample, cents, note, glide, confirmed))
            reports.append(Report("heard", number, note))

    def _has_company(self, sample: int) -> bool:
        """Whether a sure note was heard at that sample or not long before."""
        return self._company is not None and sample - self._company <= self._set.company_sec * self.rate

    def _settle(self, reports: list[Report], not_after_sec: float = np.inf) -> None:
        """Go on with the notes that were heard; those that are done are settled."""
        for growing in list(self._growing):
            growing.glide.feed(self._past)
            due = not growing.measured and self._measure_sample(growing.sample) <= self._past.end
            if due and not self._measure(growing):
                self._withdraw(growing, reports)
                continue
            if self._is_over(growing):
                settled_sec = min(self._past.end / self.rate, not_after_sec)
                settled = replace(growing.note, settled_sec=settled_sec, path=growing.glide.path)
                reports.append(Report("settled", growing.number, settled))
        self._growing = [g for g in self._growing if not self._is_over(g)]

    def _is_over(self, growing: Growing) -> bool:
        """Whether nothing about a note can change any more; at the end of a take an early word stands."""
        return growing.measured and growing.glide.done and (growing.confirmed or self._over)

    def _measure(self, growing: Growing) -> bool:
        """Measure a note; false where it proves to be no stroke, which a take cut short says of none."""
        note = growing.note
        measured = self._measurer.measure(self._past, growing.sample, note.midi, growing.tuning_cents)
        growing.note, growing.measured = replace(note, level_db=measured.level_db), True
        if not self._over and self._levels.is_faint(measured.level_db):
            return False
        if note.confidence >= self._set.sure:
            self._levels.add(measured.level_db)
        self._tuning.add(measured.deviation_cents, note.confidence)
        cents = min(max(measured.deviation_cents - self._tuning.cents, -50.0), 50.0)
        growing.note = replace(growing.note, cents=cents)
        return True

    def _measure_sample(self, sample: int) -> int:
        """End of the hop in which a note from that sample on can be measured."""
        due = sample + self._measurer.ahead_samples
        return -(-due // self._hop_samples) * self._hop_samples

    def _level_so_far(self, sample: int) -> float:
        """Mean power since the onset, of everything: a first word until the note is measured."""
        sound = self._past.between(sample, self._past.end)
        return 10.0 * float(np.log10(max(float(np.var(sound)), 1e-12)))
