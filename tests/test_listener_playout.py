"""What is played: each sound at its place whatever the blocks, sums held within full scale, nothing left over
of what was in the block, and no more sounds ahead than are accepted."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listener.playout import MOST, Laid, Playout


def _mixed(playout: Playout, position: int, size: int) -> list[float]:
    out = np.full(size, 0.75, np.float32)  # what a sound card left there
    playout.mix(position, out)
    return out.tolist()


def _sound(*samples: float) -> np.ndarray:
    return np.array(samples, np.float32)


def test_nothing_laid_is_silence() -> None:
    assert _mixed(Playout(), 0, 4) == [0.0, 0.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("position", "heard"),
    [
        (0, [0.0, 0.0, 0.0, 0.0]),  # ends just before it
        (1, [0.0, 0.0, 0.0, 0.25]),
        (3, [0.0, 0.25, 0.5, -0.5]),
        (5, [0.5, -0.5, 0.0, 0.0]),
        (6, [-0.5, 0.0, 0.0, 0.0]),
        (7, [0.0, 0.0, 0.0, 0.0]),  # begins just after it
    ],
)
def test_a_sound_lies_at_its_position(position: int, heard: list[float]) -> None:
    playout = Playout()
    playout.add(_sound(0.25, 0.5, -0.5), 4)
    assert _mixed(playout, position, 4) == heard


def test_a_block_within_a_sound_is_filled_from_where_it_is() -> None:
    playout = Playout()
    playout.add(np.arange(8) / 8.0, 10)
    assert _mixed(playout, 12, 3) == [0.25, 0.375, 0.5]


def test_sounds_are_summed_and_held_within_full_scale() -> None:
    playout = Playout()
    playout.add(_sound(0.75, 0.75, -0.75, 0.5), 0)
    playout.add(_sound(0.25, 0.5, -0.5, -0.25), 0)
    assert _mixed(playout, 0, 4) == [1.0, 1.0, -1.0, 0.25]


def test_what_was_laid_is_not_changed_by_playing_it() -> None:
    playout, sound = Playout(), _sound(0.75, -0.75)
    playout.add(sound, 0)
    playout.add(sound, 0)
    assert _mixed(playout, 0, 2) == _mixed(playout, 0, 2) == [1.0, -1.0]
    assert sound.tolist() == [0.75, -0.75]


def test_of_a_sound_laid_before_the_stream_the_rest_is_played() -> None:
    playout = Playout()
    playout.add(_sound(0.125, 0.25, 0.5), -2, now=0)
    assert _mixed(playout, 0, 2) == [0.5, 0.0]


def test_cleared_nothing_is_played_and_more_may_be_laid() -> None:
    playout = Playout()
    playout.add(_sound(0.5), 0)
    playout.clear()
    assert _mixed(playout, 0, 1) == [0.0]
    playout.add(_sound(0.25), 0)
    assert _mixed(playout, 0, 1) == [0.25]


def test_too_many_sounds_ahead_are_refused_and_what_is_over_does_not_count() -> None:
    playout = Playout()
    for _ in range(MOST):
        playout.add(_sound(1.0 / MOST), 9)
    with pytest.raises(ValueError, match=f"{MOST} sounds lie ahead; at most {MOST} are accepted"):
        playout.add(_sound(1.0), 20, now=9)
    assert _mixed(playout, 9, 1) == [1.0]  # they are still there
    playout.add(_sound(0.5), 20, now=10)
    assert _mixed(playout, 9, 1) == [0.0]  # over and forgotten
    assert _mixed(playout, 20, 1) == [0.5]


@pytest.mark.parametrize("shape", [(), (2, 1), (0, 2)])
def test_what_is_not_mono_is_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match=r"sound of shape \(.*\); one channel"):
        Playout().add(np.zeros(shape), 0)


def test_the_end_is_the_first_position_after_a_sound() -> None:
    assert Laid(position=-3, sound=_sound(0.0, 0.0)).end == -1


@given(
    st.lists(st.tuples(st.integers(-6, 40), st.lists(st.integers(-8, 8), max_size=12)), max_size=6),
    st.lists(st.integers(0, 9), max_size=8),
)
def test_block_by_block_it_is_the_sum_of_all_that_lies_there(
    laid: list[tuple[int, list[int]]], sizes: list[int]
) -> None:
    playout, whole = Playout(), np.zeros(120)  # from position -20 on
    for position, eighths in laid:
        playout.add(np.array(eighths, np.float64) / 8.0, position)
        whole[20 + position : 20 + position + len(eighths)] += np.array(eighths) / 8.0
    heard: list[float] = []
    for size in sizes:
        heard += _mixed(playout, len(heard), size)
    assert heard == np.clip(whole, -1.0, 1.0)[20 : 20 + len(heard)].tolist()
