"""What a take gives to learn from: which pitches are begun at which candidates, and the looks themselves."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listener.adapting import EITHER, NO, YES
from listener.ear import EarSettings
from listener.network import HIGH_PITCH, LOW_PITCH, PITCHES
from listener.strikes import StrikeSettings
from listener.views import BANDS, FACTS, LONG, LOW_MIDI, STEPS, VIEWS
from tests.bench.train.features import Examples, begins_sec, examples, labelled
from tests.bench.train.takes import TrueNote, TrueTake
from tests.plucks import ROLL, plucked

AT_SEC = 1.0


def _note(
    midi: int = 62,
    onset_ms: float = 0.0,
    how: str = "pick",
    *,
    arrive_ms: float | None = None,
    to_midi: int | None = None,
    counts: bool = True,
) -> TrueNote:
    """A note so many milliseconds after `AT_SEC`."""
    return TrueNote(
        onset_sec=AT_SEC + 1e-3 * onset_ms,
        midi=midi,
        how=how,
        arrive_sec=None if arrive_ms is None else AT_SEC + 1e-3 * arrive_ms,
        to_midi=to_midi,
        level_db=0.0,
        counts=counts,
    )


def _labels(candidates_ms: list[float], *notes: TrueNote, midi: int = 62) -> list[int]:
    """What one pitch is at candidates; no other pitch than those of the notes is anything."""
    labels = labelled(AT_SEC + 1e-3 * np.array(candidates_ms), notes)
    assert labels.shape == (len(candidates_ms), PITCHES)
    assert labels.dtype == np.uint8
    named = {n.midi for n in notes} | {n.to_midi for n in notes}
    assert not any(labels[:, p].any() for p in range(PITCHES) if p + LOW_PITCH not in named)
    return [int(label) for label in labels[:, midi - LOW_PITCH]]


def test_the_nearest_candidate_is_the_notes_own() -> None:
    assert _labels([-100.0, -3.0, 100.0], _note()) == [NO, YES, NO]
    assert _labels([-3.0, 2.0], _note()) == [EITHER, YES]
    assert _labels([-2.0, 3.0], _note()) == [YES, EITHER]


def test_candidates_just_beside_are_not_asked_for() -> None:
    assert _labels([-8.1, -7.9, 0.0], _note()) == [NO, EITHER, YES]


def test_so_soon_after_it_the_pitch_is_the_same_note() -> None:
    assert _labels([0.0, 20.0, 44.9, 45.1], _note()) == [YES, EITHER, EITHER, NO]
    assert _labels([-5.0, 39.9, 40.1], _note()) == [YES, EITHER, NO]  # counted from the candidate


def test_a_stroke_far_from_all_candidates_has_none() -> None:
    assert _labels([-15.1], _note()) == [NO]
    assert _labels([14.9], _note()) == [YES]
    assert _labels([14.9], _note(how="choke")) == [YES]
    assert _labels([15.1, 40.0], _note()) == [NO, NO]  # nor is what follows the same note


@pytest.mark.parametrize("how", ["hammer", "pull", "slide"])
def test_a_slur_may_begin_farther_from_its_candidate(how: str) -> None:
    assert _labels([31.9], _note(how=how)) == [YES]
    assert _labels([-31.9, 10.0, 40.0], _note(how=how)) == [NO, YES, EITHER]
    assert _labels([32.1], _note(how=how)) == [NO]


def test_pitches_struck_together_share_their_candidate() -> None:
    pinch = (_note(55), _note(67, 4.0))
    labels = labelled(AT_SEC + np.array([0.001, 0.2]), pinch)
    assert np.argwhere(labels == YES).tolist() == [[0, 55 - LOW_PITCH], [0, 67 - LOW_PITCH]]


def test_a_pitch_struck_again_soon_has_a_candidate_of_its_own() -> None:
    assert _labels([0.0, 40.0], _note(), _note(onset_ms=40.0)) == [YES, YES]


def test_a_note_that_does_not_count_is_not_asked_for() -> None:
    ghost = _note(counts=False)
    assert _labels([-20.1, -19.9, 0.0, 59.9, 60.1], ghost) == [NO, EITHER, EITHER, EITHER, NO]
    # the same pitch on another string, struck with it, is asked for all the same
    for notes in ((ghost, _note(onset_ms=10.0)), (_note(onset_ms=10.0), ghost)):
        assert _labels([9.0, 58.0], *notes) == [YES, EITHER]


def test_a_slide_out_of_a_sounding_note_begins_where_it_arrives() -> None:
    slide = _note(64, how="slide", arrive_ms=120.0)
    assert begins_sec(slide) == AT_SEC + 0.12
    labels = _labels([-9.0, 0.0, 60.0, 115.0, 150.0, 165.0], slide, midi=64)
    assert labels == [NO, EITHER, EITHER, YES, EITHER, NO]


def test_a_stroke_that_slides_begins_where_it_is_struck_and_its_end_is_not_asked_for() -> None:
    slide = _note(62, how="slide", arrive_ms=100.0, to_midi=64)
    assert begins_sec(slide) == AT_SEC
    candidates = [-1.0, 0.0, 50.0, 159.9, 160.1]
    assert _labels(candidates, slide) == [EITHER, YES, NO, NO, NO]
    assert _labels(candidates, slide, midi=64) == [NO, EITHER, EITHER, EITHER, NO]
    # unless another string is struck there
    assert _labels(candidates, slide, _note(64, 50.0), midi=64) == [NO, EITHER, YES, EITHER, NO]


def test_where_a_choke_goes_is_no_note() -> None:
    choke = _note(62, how="choke", arrive_ms=100.0, to_midi=64)
    assert begins_sec(choke) == AT_SEC
    assert _labels([0.0, 100.0], choke) == [YES, NO]
    assert _labels([0.0, 100.0], choke, midi=64) == [NO, NO]


def test_pitches_that_are_not_scored_are_left_out() -> None:
    beyond = [_note(LOW_PITCH - 1), _note(HIGH_PITCH + 1, counts=False)]
    beyond.append(_note(HIGH_PITCH + 2, how="slide", arrive_ms=50.0))
    assert not labelled(np.array([AT_SEC, AT_SEC + 0.05]), beyond).any()
    ends = labelled(np.array([AT_SEC]), [_note(LOW_PITCH), _note(HIGH_PITCH)])
    assert np.flatnonzero(ends[0]).tolist() == [0, PITCHES - 1]
    slide = _note(HIGH_PITCH, how="slide", arrive_ms=50.0, to_midi=HIGH_PITCH + 2)
    labels = labelled(np.array([AT_SEC]), [slide])
    assert np.argwhere(labels).tolist() == [[0, PITCHES - 1]]


def test_no_candidates_and_no_notes() -> None:
    assert labelled(np.zeros(0), [_note()]).shape == (0, PITCHES)
    assert not labelled(np.array([1.0, 2.0]), []).any()


_NOTES = st.lists(
    st.builds(
        _note,
        midi=st.integers(60, 63),
        onset_ms=st.integers(0, 400),
        how=st.sampled_from(["pick", "hammer", "slide", "choke"]),
        counts=st.booleans(),
    ),
    max_size=8,
)


@given(_NOTES, st.lists(st.integers(-50, 450), max_size=12, unique=True), st.randoms())
@settings(max_examples=60, deadline=None)
def test_each_note_has_one_candidate_at_most_whatever_their_order(notes, candidates_ms, random) -> None:  # type: ignore[no-untyped-def]
    onset_sec = AT_SEC + 1e-3 * np.array(sorted(candidates_ms), float)
    labels = labelled(onset_sec, notes)
    shuffled = list(notes)
    random.shuffle(shuffled)
    assert np.array_equal(labelled(onset_sec, shuffled), labels)
    asked = [note for note in notes if note.counts]
    assert (labels == YES).sum() <= len(asked)
    for strike, pitch in np.argwhere(labels == YES):
        away = [abs(onset_sec[strike] - n.onset_sec) for n in asked if n.midi == pitch + LOW_PITCH]
        assert min(away) <= 0.033


def _take(cents: float = 0.0, seed: int = 0, rate: int = 44100) -> TrueTake:
    played = [(sec, midi + cents / 100.0, size) for sec, midi, size in ROLL]
    return TrueTake(
        seed=seed,
        kind="plucks",
        nps=8.0,
        rate=rate,
        sound=plucked(rate, played, duration_sec=1.6),
        notes=tuple(replace(_note(round(midi)), onset_sec=sec) for sec, midi, _ in ROLL),
        tuning_cents=cents,
        open_midi=(67, 50, 55, 59, 62),
    )


@cache
def _found(rate: int = 44100) -> list[Examples]:
    return examples(_take(rate=rate))


@pytest.mark.parametrize("rate", [44100, 48000])
def test_the_strike_at_each_note_is_labelled_with_its_pitch(rate: int) -> None:
    (found,) = _found(rate)
    count = len(found.onset_sec)
    assert (np.diff(found.onset_sec) > 0.0).all()
    assert found.views.shape == (count, VIEWS, BANDS)
    assert found.views.dtype == np.uint8
    assert found.facts.shape == (count, FACTS)
    assert found.facts.dtype == np.float32
    assert found.labels.shape == (count, PITCHES)
    begun = np.argwhere(found.labels == YES)
    assert [pitch + LOW_PITCH for _, pitch in begun] == [midi for _, midi, _ in ROLL]
    assert found.onset_sec[begun[:, 0]] == pytest.approx([sec for sec, _, _ in ROLL], abs=0.004)
    for strike, pitch in begun:
        second = (pitch + LOW_PITCH + 12 - LOW_MIDI) * STEPS  # a fundamental may be weak
        heights = found.views[strike, LONG, second - 2 : second + 3]
        assert heights.max() > 180
        assert found.views[strike].max() > 230


def test_the_same_take_gives_the_same_examples() -> None:
    (one,), (other,) = _found(), examples(_take())
    for name in ("views", "facts", "labels", "onset_sec"):
        assert np.array_equal(getattr(one, name), getattr(other, name)), name


def test_the_axis_follows_the_tuning_as_an_ear_would_know_it() -> None:
    (plain,) = _found()
    sharp, unknown = (examples(t)[0] for t in (_take(40.0), replace(_take(40.0), tuning_cents=0.0)))

    def first(found) -> np.ndarray:  # type: ignore[no-untyped-def]
        at = int(np.argwhere(found.labels == YES)[0, 0])
        long: np.ndarray = found.views[at, LONG].astype(float)
        return long

    assert np.abs(first(sharp) - first(plain)).mean() < 0.4 * np.abs(first(unknown) - first(plain)).mean()
    # a few cents off, drawn for each take
    assert not np.array_equal(examples(_take(seed=1))[0].views, plain.views)


def test_a_take_without_a_strike_gives_none() -> None:
    silent = replace(_take(), sound=np.zeros(44100, np.float32))
    deaf = EarSettings(strikes=StrikeSettings(threshold=1e6))
    for (found,) in (examples(silent), examples(_take(), deaf)):
        assert found.views.shape == (0, VIEWS, BANDS)
        assert found.facts.shape == (0, FACTS)
        assert found.labels.shape == (0, PITCHES)
        assert found.onset_sec.shape == (0,)
