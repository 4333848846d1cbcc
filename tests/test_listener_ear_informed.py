"""What an ear with early scorers says and takes back: made-up scorers, so that every word is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from listener.ear import Ear, EarSettings
from listener.expecting import Expectation, Expected
from listener.framing import Past
from listener.notes import NoteEvent, Report, doubtful, standing
from listener.offset import TuningOffset
from listener.scorer import Struck
from listener.strikes import Strike
from tests.plucks import plucked

RATE = 44100
FIRST_SEC, NEAR_SEC, SECOND_SEC, THIRD_SEC = 0.300, 0.318, 0.330, 0.600
EXPECTATION = Expectation(onset_sec=0.5, spread_sec=0.1, midi=69, weight=0.9)
A_SURE, A_LESS = Struck(69, 0.97, asked=True), Struck(69, 0.6, asked=True)
A_THIN = Struck(69, 0.3, asked=True, doubtful=True)
B_SURE = Struck(71, 0.97)


@cache
def _ticks() -> np.ndarray:
    """Three plucks, two of them 30 ms apart: what they sound like does not matter here."""
    notes = [(sec, 60, 0.2) for sec in (FIRST_SEC, SECOND_SEC, THIRD_SEC)]
    return plucked(RATE, notes, duration_sec=1.0)


@cache
def _near_ticks() -> np.ndarray:
    """Two plucks so near that the first look at the second one comes before the last look at the first."""
    return plucked(RATE, [(FIRST_SEC, 60, 0.2), (NEAR_SEC, 60, 0.2)], duration_sec=0.8)


class _Says:
    """A scorer that says at each strong strike what it was told to."""

    back_samples = 0

    def __init__(self, ahead_ms: float, words: Mapping[float, Sequence[Struck]]) -> None:
        self.ahead_samples = round(ahead_ms * RATE / 1e3)
        self._words = words
        self.resets = 0
        self.seen: list[tuple[int, int | None]] = []

    def reset(self) -> None:
        self.resets += 1

    def struck(
        self, past: Past, strike: Strike, following: Strike | None, tuning: TuningOffset
    ) -> list[Struck]:
        assert past.end >= strike.sample + self.ahead_samples
        self.seen.append((strike.sample, following and following.sample))
        if strike.strength <= 0.5:
            return []
        said = [words for sec, words in self._words.items() if abs(strike.sample / RATE - sec) < 0.008]
        return [struck for words in said for struck in words]


Words = Mapping[float, Sequence[Struck]]


def _scorers(early: Words, last: Words, *, middle: Words | None = None, last_ms: float = 52) -> list[_Says]:
    return [_Says(20, early), *([] if middle is None else [_Says(40, middle)]), _Says(last_ms, last)]


def _ear(scorers: Sequence[_Says], **settings: float) -> Ear:
    told: dict = {"informed": lambda rate, expected: scorers, **settings}
    return Ear(RATE, settings=EarSettings(**told), expectations=[EXPECTATION])


def _reports(early: Words, last: Words, **more) -> list[Report]:  # type: ignore[no-untyped-def]
    ear = _ear(_scorers(early, last, **more))
    return ear.feed(_ticks()) + ear.flush()


def _words(reports: Sequence[Report]) -> list[tuple[str, int, int]]:
    return [(report.kind, report.number, report.note.midi) for report in reports]


def _lag_ms(note: NoteEvent) -> float:
    return 1e3 * (note.heard_sec - note.onset_sec)


def test_an_early_word_that_is_confirmed_is_heard_once_and_settled_as_sure_as_the_last_look_is() -> None:
    heard, settled = _reports({FIRST_SEC: [A_LESS]}, {FIRST_SEC: [A_SURE]})
    assert _words([heard, settled]) == [("heard", 0, 69), ("settled", 0, 69)]
    assert _lag_ms(heard.note) == pytest.approx(20, abs=3)
    assert (heard.note.confidence, settled.note.confidence) == (0.6, 0.97)
    assert settled.note.heard_sec == heard.note.heard_sec
    assert settled.note.onset_sec == heard.note.onset_sec == pytest.approx(FIRST_SEC, abs=0.005)


def test_an_early_word_that_is_not_borne_out_is_withdrawn_and_what_is_true_is_heard_after_it() -> None:
    reports = _reports({FIRST_SEC: [A_SURE]}, {FIRST_SEC: [B_SURE]})
    assert _words(reports) == [("heard", 0, 69), ("withdrawn", 0, 69), ("heard", 1, 71), ("settled", 1, 71)]
    notes, withdrawn = standing(reports)
    assert [note.midi for note in notes] == [71]
    assert withdrawn == [reports[0].note]
    assert _lag_ms(notes[0]) == pytest.approx(52, abs=3)


def test_of_several_early_words_only_the_wrong_ones_are_withdrawn() -> None:
    reports = _reports({FIRST_SEC: [A_SURE, Struck(62, 0.9, asked=True)]}, {FIRST_SEC: [A_SURE, B_SURE]})
    assert _words(reports)[:4] == [
        ("heard", 0, 69),
        ("heard", 1, 62),
        ("withdrawn", 1, 62),
        ("heard", 2, 71),
    ]
    assert sorted(_words(reports)[4:]) == [("settled", 0, 69), ("settled", 2, 71)]


def test_what_an_earlier_look_has_said_a_later_one_does_not_say_again() -> None:
    middle = {FIRST_SEC: [A_SURE, Struck(62, 0.9, asked=True)]}
    reports = _reports({FIRST_SEC: [A_SURE]}, {FIRST_SEC: [A_SURE]}, middle=middle)
    assert _words(reports)[:3] == [("heard", 0, 69), ("heard", 1, 62), ("withdrawn", 1, 62)]
    assert [_lag_ms(report.note) for report in reports[:2]] == pytest.approx([20, 40], abs=3)
    assert _words(reports)[3:] == [("settled", 0, 69)]


def test_a_withdrawn_pitch_may_be_heard_at_the_next_strike_however_near_it_is() -> None:
    """It was none, so it does not count as the same note a moment before."""
    assert EarSettings().again_sec > SECOND_SEC - FIRST_SEC
    reports = _reports({FIRST_SEC: [A_SURE]}, {SECOND_SEC: [A_SURE]})
    assert _words(reports) == [("heard", 0, 69), ("withdrawn", 0, 69), ("heard", 1, 69), ("settled", 1, 69)]
    assert reports[2].note.onset_sec == pytest.approx(SECOND_SEC, abs=0.005)
    confirmed = _reports({FIRST_SEC: [A_SURE]}, {sec: [A_SURE] for sec in (FIRST_SEC, SECOND_SEC)})
    assert _words(confirmed) == [("heard", 0, 69), ("settled", 0, 69)]


def test_what_is_wrong_is_taken_back_before_anything_is_said_in_the_same_hop() -> None:
    probe = _Says(20, {})
    _ear([probe]).feed(_ticks())
    strikes = [sample for sample, _ in probe.seen]
    first, second = (min(strikes, key=lambda s: abs(s - sec * RATE)) for sec in (FIRST_SEC, SECOND_SEC))
    scorers = _scorers({FIRST_SEC: [A_SURE], SECOND_SEC: [A_SURE]}, {SECOND_SEC: [A_SURE]})
    scorers[-1].ahead_samples = scorers[0].ahead_samples + second - first
    reports = _ear(scorers).feed(_ticks())
    assert _words(reports) == [("heard", 0, 69), ("withdrawn", 0, 69), ("heard", 1, 69), ("settled", 1, 69)]
    assert _lag_ms(reports[2].note) == pytest.approx(20, abs=3)


def test_flush_settles_an_early_word_that_was_never_confirmed() -> None:
    heard_sec = _reports({THIRD_SEC: [A_LESS]}, {THIRD_SEC: [A_SURE]})[0].note.heard_sec
    ear, end = _ear(_scorers({THIRD_SEC: [A_LESS]}, {}, last_ms=350)), round(heard_sec * RATE) + 30
    assert _words(ear.feed(_ticks()[:end])) == [("heard", 0, 69)]
    (settled,) = ear.flush()
    assert _words([settled]) == [("settled", 0, 69)]
    assert settled.note.settled_sec == pytest.approx(end / RATE)
    assert settled.note.confidence == 0.6
    # After a reset it is no end of a take any more: nothing settles before the last look.
    ear.reset()
    assert _words(ear.feed(_ticks())) == [("heard", 0, 69), ("withdrawn", 0, 69)]
    assert ear.flush() == []


@pytest.mark.parametrize(
    ("last", "said"),
    [
        (
            {FIRST_SEC: [A_SURE]},
            [("heard", 0, 69), ("withdrawn", 0, 69), ("heard", 1, 69), ("settled", 1, 69)],
        ),
        (
            {FIRST_SEC: [A_SURE], NEAR_SEC: [A_SURE]},
            [("heard", 0, 69), ("withdrawn", 0, 69), ("heard", 1, 69), ("settled", 1, 69)],
        ),
        ({NEAR_SEC: [A_SURE]}, [("heard", 0, 69), ("settled", 0, 69)]),
    ],
)
def test_the_last_word_on_a_strike_outdoes_an_early_one_on_a_candidate_right_after_it(
    last: Words, said: list[tuple[str, int, int]]
) -> None:
    ear = _ear(_scorers({NEAR_SEC: [A_SURE]}, last))
    reports = ear.feed(_near_ticks()) + ear.flush()
    assert _words(reports) == said
    (note,), _ = standing(reports)
    assert note.onset_sec == pytest.approx(FIRST_SEC if FIRST_SEC in last else NEAR_SEC, abs=0.006)


def test_a_note_does_not_settle_before_the_last_look() -> None:
    (_, settled) = _reports({FIRST_SEC: [A_SURE]}, {FIRST_SEC: [A_SURE]}, last_ms=350)
    assert settled.note.settled_sec - settled.note.onset_sec == pytest.approx(0.350, abs=0.006)
    plain = _reports({FIRST_SEC: [A_SURE]}, {FIRST_SEC: [A_SURE]})[1].note
    assert plain.settled_sec - plain.onset_sec < 0.250


def test_what_is_doubtful_is_said_once_and_never_stands() -> None:
    reports = _reports({}, {FIRST_SEC: [A_THIN]})
    assert _words(reports) == [("doubtful", 0, 69)]
    assert standing(reports) == ([], [])
    (thin,) = doubtful(reports)
    assert thin.confidence == 0.3
    assert _lag_ms(thin) == pytest.approx(52, abs=3)


def test_an_early_word_that_becomes_doubtful_is_withdrawn() -> None:
    reports = _reports({FIRST_SEC: [A_SURE]}, {FIRST_SEC: [A_THIN]})
    assert _words(reports) == [("heard", 0, 69), ("withdrawn", 0, 69), ("doubtful", 1, 69)]
    notes, withdrawn = standing(reports)
    assert (notes, len(withdrawn), len(doubtful(reports))) == ([], 1, 1)


def test_a_doubtful_word_does_not_hinder_the_same_pitch_a_moment_later_and_is_not_said_after_it() -> None:
    reports = _reports({}, {FIRST_SEC: [A_THIN], SECOND_SEC: [A_SURE]})
    assert _words(reports) == [("doubtful", 0, 69), ("heard", 1, 69), ("settled", 1, 69)]
    after = _reports({}, {FIRST_SEC: [A_SURE], SECOND_SEC: [A_THIN]})
    assert _words(after) == [("heard", 0, 69), ("settled", 0, 69)]


@pytest.mark.parametrize(
    ("struck", "said"),
    [
        (Struck(69, 0.6), []),
        (Struck(69, 0.6, asked=True), [69]),
        (Struck(69, 0.95), [69]),
    ],
)
def test_what_is_asked_for_needs_no_company(struck: Struck, said: list[int]) -> None:
    assert [note.midi for note in standing(_reports({}, {FIRST_SEC: [struck]}))[0]] == said


@pytest.mark.parametrize(
    ("early", "last", "said"),
    [
        ([], [B_SURE], [71, 64]),
        ([A_SURE], [], [69]),  # an early word alone is no company
        ([], [Struck(71, 0.99, asked=True, doubtful=True)], []),  # nor is a doubtful one
        ([], [A_LESS], [69]),  # nor an unsure one
    ],
)
def test_only_a_sure_note_that_stands_is_company_for_one_that_is_not_asked_for(
    early: list[Struck], last: list[Struck], said: list[int]
) -> None:
    """The company comes 300 ms before; the early word is heard, and withdrawn, at its own strike."""
    reports = _reports({FIRST_SEC: early}, {FIRST_SEC: last, THIRD_SEC: [Struck(64, 0.6)]})
    assert [report.note.midi for report in reports if report.kind == "heard"] == said


def test_every_scorer_sees_every_strike_in_order_with_the_one_that_follows() -> None:
    scorers = _scorers({}, {}, middle={}, last_ms=120)
    plucks = [(sec, 60, 0.2) for sec in (0.300, 0.330, 0.360, 0.390, 0.600)]
    _ear(scorers).feed(plucked(RATE, plucks, duration_sec=0.9))
    strikes = [sample for sample, _ in scorers[-1].seen]
    assert strikes == sorted(set(strikes))
    for scorer in scorers:
        assert [sample for sample, _ in scorer.seen][: len(strikes)] == strikes
        assert all(after is None or after > sample for sample, after in scorer.seen)
    following = dict(scorers[-1].seen)
    near = [(a, b) for a, b in pairwise(strikes) if b - a < 0.080 * RATE]
    far = [(a, b) for a, b in pairwise(strikes) if b - a > 0.140 * RATE]
    assert (len(near) >= 3, len(far) >= 1) == (True, True)
    assert all(following[a] == b for a, b in near)
    assert all(following[a] is None for a, _ in far)


def test_a_reset_reaches_every_scorer_and_the_same_is_heard_again() -> None:
    scorers = _scorers({FIRST_SEC: [A_SURE]}, {FIRST_SEC: [A_SURE], THIRD_SEC: [B_SURE]}, middle={})
    ear = _ear(scorers)
    first = ear.feed(_ticks())
    ear.reset()
    assert [scorer.resets for scorer in scorers] == [1, 1, 1]
    assert ear.feed(_ticks()) == first
    assert len(first) == 4


def test_informed_scorers_are_made_for_the_rate_and_what_is_expected() -> None:
    asked: list[tuple[int, Expected]] = []

    def made(rate: int, expected: Expected) -> list[_Says]:
        asked.append((rate, expected))
        return _scorers({}, {})

    Ear(48000, settings=EarSettings(informed=made), expectations=[EXPECTATION, EXPECTATION])
    ((rate, expected),) = asked
    assert (rate, len(expected)) == (48000, 2)
    assert expected.at(0.5).max() == pytest.approx(0.9)
    Ear(44100, settings=EarSettings(informed=made))
    assert len(asked) == 1
