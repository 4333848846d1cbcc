"""Whether a note's pitch moves after its onset (choke, slide), and along which path.

The problem: a choke glides by 50 to 200 cents within a fifth of a second, a slide goes by half steps, and
other strings ring and are struck meanwhile. What tells a moving note from a new one on another string: all
its partials move by the same number of cents without a gap, and what was at the old place is gone.

Method: short spectra, some nine milliseconds apart; in each the support of every shift of the pitch
(`listener.partials`). The note is followed along the greatest support, from shift 0 on. At first it may go
from fret to fret; after `jump_sec` it may only glide, and what leaps then is another note (a hammered one
that the ear hears by itself, the next stroke). Every frame away from the beginning adds its support and loses
for what still stands at shift 0; where the sum passes `proof` the note has moved.

Conventions: cents are against the half step that was heard, the instrument's tuning taken off; the time of a
point is the middle of its window. A stroke that starts sharp, and anything else within `least_cents`, is no
movement. Tuned on rolls by the simulated player and through the Fluid font (`python -m tests.bench paths`).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from listener.framing import Past
from listener.partials import BEGINS, GRID_CENTS, MIDDLE, SHIFTS, NotePartials, PartialSettings, spectrum

_OFF_CENTS = 25.0  # how far off its half step a note may begin
_GONE_FRAMES = 2
_RESTS_FRAMES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class GlideSettings:
    """How a note is followed; times named so are counted from its onset to the end of a frame.

    Attributes
    ----------
    partials : PartialSettings
    window_sec, step_sec : float
        Length of a frame's window, and the time from one frame to the next.
    first_sec : float
        End of the first frame.
    gap_sec : float
        What was there before the note is read so long before its onset.
    latest_sec : float
        The first `Glide.feed` comes at most so long after the onset.
    jump_sec, jump_cents, glide_cents : float
        Until then a note may go on by the second from frame to frame, then by the third beyond its speed.
    leap_sec, slide_sec, leap_cents : float
        From the first on what leaves the beginning by more than the third in two frames is another note, from
        the second on so is what moves on by that.
    inertia : float
        Share of its speed at which a gliding note is expected to go on.
    drag : float
        Support that going on by another 10 cents costs.
    away_cents : float
        From so far on a frame speaks for a movement.
    even, left_behind, greatest : float
        What a frame must exceed, with that share of what still stands at the beginning; no frame counts for
        more than the third.
    sign, proof : float
        Sum of the frames that hints at a movement, and from which a note has moved.
    lost : float
        With less support, two frames long, the note is gone.
    least_cents : float
        Less is no movement.
    decide_sec, undecided_sec, longest_sec : float
        A note that shows no sign is given up at the first, one that shows no more than a sign at the second;
        no path goes beyond the third.
    held_sec, held_cents : float
        A path ends where the pitch stayed within the second for the first.
    rest_cents : float
        Where the note is lost before that, its last three frames must lie within this, or there is no path.
    """

    partials: PartialSettings = field(default_factory=PartialSettings)
    window_sec: float = 0.036
    step_sec: float = 0.0087
    first_sec: float = 0.024
    gap_sec: float = 0.002
    latest_sec: float = 0.100
    jump_sec: float = 0.078
    jump_cents: float = 120.0
    glide_cents: float = 40.0
    leap_sec: float = 0.104
    slide_sec: float = 0.122
    leap_cents: float = 62.0
    inertia: float = 0.5
    drag: float = 0.0022
    away_cents: float = 25.0
    even: float = 0.15
    left_behind: float = 0.45
    greatest: float = 0.6
    sign: float = 0.2
    proof: float = 0.5
    lost: float = 0.12
    least_cents: float = 40.0
    decide_sec: float = 0.130
    undecided_sec: float = 0.200
    longest_sec: float = 0.400
    held_sec: float = 0.045
    held_cents: float = 12.0
    rest_cents: float = 30.0

    def back_samples(self, rate: int) -> int:
        """Return how far back from its end `Glide.feed` reads the past."""
        waits = self.latest_sec + self.gap_sec + self.window_sec + 4 * self.step_sec
        return round(waits * rate)


class Glide:
    """Follows the pitch of one note.

    Parameters
    ----------
    rate : int
        Samples a second.
    sample : int
        Onset of the note, counted from the first sample of the take.
    midi : int
        Its half step.
    tuning_cents : float
        Tuning of the instrument against A4 = 440 Hz.
    settings : GlideSettings, optional

    Attributes
    ----------
    done : bool
        Whether decision and path are final.
    path : tuple of (float, float)
        Seconds of the take and cents; empty until `done`, and where the pitch did not move.
    """

    def __init__(
        self, rate: int, sample: int, midi: int, tuning_cents: float, settings: GlideSettings | None = None
    ) -> None:
        self._set = settings = settings or GlideSettings()
        self._rate, self._sample = rate, sample
        self._size, self._step = round(settings.window_sec * rate), round(settings.step_sec * rate)
        self._due = sample + round(settings.first_sec * rate)
        hz = 440.0 * 2.0 ** ((midi - 69.0 + tuning_cents / 100.0) / 12.0)
        self._partials = NotePartials(hz, rate, self._size, settings.partials)
        self._before: np.ndarray | None = None
        self._first: np.ndarray | None = None
        self._learnt = False
        self._at, self._speed, self._faint, self._begun = MIDDLE, 0, 0, 0.0
        self._sum, self._best = 0.0, 0.0
        self._frames: list[tuple[int, float, float]] = []  # middle of the window, cents, sum so far
        self.done = False
        self.path: tuple[tuple[float, float], ...] = ()

    def feed(self, past: Past) -> None:
        """Look at the hop that was just appended to the past; at most one spectrum is taken.

        Parameters
        ----------
        past : Past
            Remembers at least `GlideSettings.back_samples`.

        Raises
        ------
        ValueError
            If the past no longer holds what is needed.
        """
        if self.done or past.end < self._due:
            return
        if self._before is None:
            self._before = self._frame(past, self._sample - round(self._set.gap_sec * self._rate))
            return
        now = self._frame(past, self._due)
        if self._first is None:
            self._first = now
        elif not self._learnt:
            # The same frame is followed with the next hop: no hop shall cost much.
            self._learnt = self._partials.learn(self._before, self._first, now)
            self.done = not self._learnt
            return
        else:
            self._follow(now)
        self._due += self._step

    def end(self) -> None:
        """No more will be fed: decide by what was seen; a path that breaks off on its way is none."""
        if self.done:
            return
        self.done = True
        if self._rests():
            self._finish()

    def _frame(self, past: Past, end: int) -> np.ndarray:
        return spectrum(past.between(end - self._size, end))

    def _follow(self, now: np.ndarray) -> None:
        """Find where the note is in this frame, and what that says."""
        opts, after_sec = self._set, (self._due - self._sample) / self._rate
        support, new = self._partials.support(now, beginning=not self._frames)
        self._move(support, after_sec)
        at = self._at
        clear = float(support[at] - np.median(support))
        here = new[:, max(0, at - 1) : at + 2].max(axis=1)
        cents = self._partials.cents(now, here, at)
        if not self._frames:
            self._begun = min(max(cents, -_OFF_CENTS), _OFF_CENTS)
        if abs(SHIFTS[at] - self._begun) >= opts.away_cents:
            left = self._partials.left_behind(new, here, at)
            self._sum += min(clear, opts.greatest) - opts.even - opts.left_behind * left
        self._partials.expect(here)
        self._best = max(self._best, self._sum)
        self._frames.append((self._due - self._size // 2, cents, self._sum))
        self._faint = self._faint + 1 if clear < opts.lost else 0
        if self._leaps(after_sec):
            self._faint = _GONE_FRAMES
        self._decide(after_sec)

    def _leaps(self, after_sec: float) -> bool:
        """Whether another note was taken for this one: it goes faster than a finger so late."""
        opts = self._set
        if after_sec < opts.leap_sec:
            return False
        _, lately, _ = self._frames[-3]
        slides = abs(lately - self._begun) >= opts.away_cents and after_sec < opts.slide_sec
        return not slides and abs(self._frames[-1][1] - lately) > opts.leap_cents

    def _move(self, support: np.ndarray, after_sec: float) -> None:
        """Go to the greatest support within reach."""
        opts, beginning = self._set, not self._frames
        jumps = after_sec < opts.jump_sec
        middle = self._at if jumps else self._at + round(opts.inertia * self._speed)
        middle = min(max(middle, 0), len(support) - 1)
        reach = round((opts.jump_cents if jumps else opts.glide_cents) / GRID_CENTS)
        low, high = max(0, middle - reach), min(len(support), middle + reach + 1)
        if beginning:
            low, high = BEGINS.start, BEGINS.stop
        off = np.abs(np.arange(low, high) - self._at - opts.inertia * self._speed)
        at = low + int((support[low:high] - opts.drag * off).argmax())
        self._speed = 0 if beginning else at - self._at
        self._at = at

    def _decide(self, after_sec: float) -> None:
        opts = self._set
        if self._faint >= _GONE_FRAMES:
            self._finish()
        elif after_sec >= opts.decide_sec:
            if self._best > opts.proof:
                goes_on = not self._rests() and after_sec < opts.longest_sec
            else:
                goes_on = self._sum > opts.sign and after_sec < opts.undecided_sec
            if not goes_on:
                self._finish()

    def _rests(self) -> bool:
        """Whether the pitch has been held for a while."""
        count = round(self._set.held_sec / self._set.step_sec)
        last = [cents for _, cents, _ in self._frames[-count:]]
        return len(last) == count and max(last) - min(last) <= self._set.held_cents

    def _finish(self) -> None:
        """Make the path of what was followed, if it is one."""
        self.done = True
        opts = self._set
        if self._best <= opts.proof:
            return
        frames = self._frames[: len(self._frames) - self._faint]
        # Where the sum falls again it was no longer this note; in the last windows of one that was cut off
        # the pitch seems to rest.
        while frames and frames[-1][2] < self._best - opts.greatest / 2:
            frames.pop()
        while self._faint and len(frames) > 1 and frames[-1][2] < frames[-2][2]:
            frames.pop()
        cents = [cents for _, cents, _ in frames]
        smooth = [float(np.median(cents[max(0, k - 1) : k + 2])) for k in range(len(cents))]
        # A path that breaks off on its way does not say where the pitch went.
        if not smooth or np.ptp(smooth[-_RESTS_FRAMES:]) > opts.rest_cents:
            return
        farthest = max(smooth, key=lambda c: abs(c - self._begun))
        if min(abs(farthest), abs(farthest - self._begun)) >= opts.least_cents:
            self.path = tuple((frame[0] / self._rate, c) for frame, c in zip(frames, smooth, strict=True))
