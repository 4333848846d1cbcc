"""Where a note's partials stand: support by shift, what is left behind, and where they peak."""

from __future__ import annotations

import numpy as np
import pytest

from listener.partials import MIDDLE, SHIFTS, NotePartials, PartialSettings, spectrum

RATE, SIZE = 44100, 1588
BASE_HZ = 293.66


def frame(*cents: float, size: float = 0.1) -> np.ndarray:
    """Spectrum of the same note at each of these shifts at once."""
    time = np.arange(SIZE) / RATE
    sound = np.zeros(SIZE)
    for number in range(1, 13):
        for k, shift in enumerate(cents):
            hz = number * BASE_HZ * 2.0 ** (shift / 1200.0)
            sound += size * np.sin(2.0 * np.pi * hz * time + number * (1 + k))
    return spectrum(sound.astype(np.float32))


SILENCE = spectrum(np.zeros(SIZE, np.float32))


def learnt(before: np.ndarray = SILENCE, began: np.ndarray | None = None) -> NotePartials:
    partials = NotePartials(BASE_HZ, RATE, SIZE, PartialSettings(stiffness=(0.0,)))
    began = frame(0.0) if began is None else began
    assert partials.learn(before, began, began)
    return partials


def at(cents: float) -> int:
    return MIDDLE + round(cents / 10.0)


def test_a_sine_shows_its_amplitude() -> None:
    bins = 40 * RATE / 2048
    sound = 0.3 * np.sin(2.0 * np.pi * bins * np.arange(SIZE) / RATE)
    assert spectrum(sound.astype(np.float32))[40] == pytest.approx(0.3, rel=1e-3)


@pytest.mark.parametrize("cents", [-150.0, -50.0, 0.0, 50.0, 100.0])
def test_the_support_is_greatest_where_the_note_is(cents: float) -> None:
    partials = learnt()
    now = frame(cents)
    support, new = partials.support(now, beginning=False)
    assert SHIFTS[int(support.argmax())] == pytest.approx(cents, abs=10.0)
    assert 0.85 < support.max() <= 1.0 + 1e-6
    here = new[:, at(cents)]
    assert partials.cents(now, here, at(cents)) == pytest.approx(cents, abs=3.0)


def test_louder_counts_no_more_and_much_louder_less() -> None:
    partials = learnt()
    support = [partials.support(frame(100.0, size=size), beginning=False)[0] for size in (0.1, 0.15, 0.6)]
    plain, louder, loudest = (float(s[at(100.0)]) for s in support)
    assert plain <= louder < plain + 0.05
    assert loudest < 0.5 * plain


def test_what_sounded_before_or_beside_it_supports_less() -> None:
    free = learnt().support(frame(100.0), beginning=False)[0]
    for partials in (learnt(before=frame(100.0)), learnt(began=frame(0.0, 100.0))):
        assert partials.support(frame(100.0), beginning=False)[0][at(100.0)] < 0.6 * free[at(100.0)]


def test_what_is_left_behind() -> None:
    partials = learnt()
    for now, left in ((frame(200.0), 0.0), (frame(0.0, 200.0), 1.0)):
        _, new = partials.support(now, beginning=False)
        assert partials.left_behind(new, new[:, at(200.0)], at(200.0)) == pytest.approx(left, abs=0.2)


def test_a_partial_only_grows_softer_and_not_all_at_once() -> None:
    partials = learnt()
    before = partials.support(frame(0.0, size=0.05), beginning=False)[0][MIDDLE]
    _, loud = partials.support(frame(0.0, size=0.4), beginning=False)
    partials.expect(loud[:, MIDDLE])
    assert partials.support(frame(0.0, size=0.05), beginning=False)[0][MIDDLE] == pytest.approx(
        before, rel=1e-3
    )
    partials.expect(np.zeros(len(loud)))
    after = partials.support(frame(0.0, size=0.05), beginning=False)[0][MIDDLE]
    assert after == pytest.approx(before / PartialSettings().fall, rel=0.05)


def test_nothing_new_is_nothing_to_follow() -> None:
    partials = NotePartials(BASE_HZ, RATE, SIZE, PartialSettings())
    assert not partials.learn(SILENCE, SILENCE, SILENCE)
    assert not partials.learn(frame(0.0), frame(0.0), frame(0.0))
    assert not NotePartials(9000.0, RATE, SIZE, PartialSettings()).learn(SILENCE, frame(0.0), frame(0.0))
