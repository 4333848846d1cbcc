"""What takes are asked to be, and what the weighers then see of them: the same as in listening."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feedback.expect import asked_at
from listener import informed
from listener.ear import Ear
from listener.expecting import Expectation
from listener.views import FACTS, LOOKS
from listener.weigher import Weigher, inputs, width
from tests.bench.train import weighing
from tests.bench.train.asked import Ask, drawn_asks, expectations_of
from tests.bench.train.takes import TrueNote, TrueTake
from tests.bench.train.weighing import Rows, gathered, rows
from tests.plucks import ROLL, plucked

EIGHTH_SEC = 0.125
DRAWS = 300


def _note(onset_sec: float, midi: int, how: str = "pick", **more: object) -> TrueNote:
    rest: dict = {"arrive_sec": None, "to_midi": None, "level_db": 0.0, "counts": True} | more
    return TrueNote(onset_sec=onset_sec, midi=midi, how=how, **rest)


LINE = [_note(1.0 + EIGHTH_SEC * k, 48 + k) for k in range(32)]
"""Every pitch comes once, so that an ask names the note that it means."""


def _drawn(notes: Sequence[TrueNote], seed: int) -> list[Ask]:
    return drawn_asks(notes, EIGHTH_SEC, np.random.default_rng(seed))


def _kinds() -> tuple[list[list[Ask]], list[list[Ask]], list[list[Ask]]]:
    """Draws of one line: nothing asked for, quite another lick, and the usual ones."""
    draws = [_drawn(LINE, seed) for seed in range(DRAWS)]
    few = len(LINE) // 4  # by chance a shuffled pitch falls on its own place
    strange = [asks for asks in draws if asks and sum(ask.came for ask in asks) < few]
    usual = [asks for asks in draws if sum(ask.came for ask in asks) >= few]
    return [asks for asks in draws if not asks], strange, usual


def test_the_same_seed_draws_the_same_and_another_one_others() -> None:
    assert _drawn(LINE, 3) == _drawn(LINE, 3)
    assert len({tuple(_drawn(LINE, seed)) for seed in range(10)}) > 8


def test_of_no_notes_nothing_is_asked() -> None:
    assert all(_drawn([], seed) == [] for seed in range(20))


def test_some_takes_are_blind_and_some_are_another_lick() -> None:
    blind, strange, usual = _kinds()
    assert 0.04 < len(blind) / DRAWS < 0.13
    assert 0.04 < len(strange) / DRAWS < 0.13
    assert len(blind) + len(strange) + len(usual) == DRAWS
    for asks in strange:  # the same pitches at the same times, shuffled
        assert sorted(ask.midi for ask in asks) == [note.midi for note in LINE]
        assert [ask.onset_sec for ask in asks] == pytest.approx([n.onset_sec for n in LINE], abs=0.05)
        assert sum(ask.midi == note.midi for ask, note in zip(asks, LINE, strict=True)) < 8


def test_most_notes_were_asked_for_and_one_ask_in_five_is_not_met() -> None:
    _, _, usual = _kinds()
    came = [ask for asks in usual for ask in asks if ask.came]
    count = sum(map(len, usual))
    assert 0.80 < len(came) / (len(usual) * len(LINE)) < 0.88
    assert 0.17 < 1.0 - len(came) / count < 0.27


def test_what_came_was_asked_for_at_its_own_pitch_and_mostly_near_its_own_time() -> None:
    onset_sec = {note.midi: note.onset_sec for note in LINE}
    spreads, leans = [], []
    for asks in _kinds()[2]:
        came = [ask for ask in asks if ask.came]
        assert len({ask.midi for ask in came}) == len(came)
        late = np.array([ask.onset_sec - onset_sec[ask.midi] for ask in came])
        assert np.abs(late).max() < 0.5 * EIGHTH_SEC + 0.12
        leans.append(float(np.median(late)))
        spreads.append(1.48 * float(np.median(np.abs(late - leans[-1]))))
    assert 0.009 < np.median(spreads) < 0.017  # steady hands and unsteady ones
    assert np.quantile(spreads, 0.1) < 0.007
    assert np.quantile(spreads, 0.9) > 0.017
    assert 0.004 < np.std(leans) < 0.013


def test_what_never_came_is_beside_a_note_or_between_two() -> None:
    onset_sec = np.array([note.onset_sec for note in LINE])
    never = [ask for asks in _kinds()[2] for ask in asks if not ask.came]
    away = np.array([np.abs(onset_sec - ask.onset_sec).min() for ask in never]) / EIGHTH_SEC
    assert 0.15 < np.mean(away > 0.34) < 0.40  # between
    assert np.mean(away < 0.2) > 0.5  # in the place of a note
    by_pitch = {note.onset_sec: note.midi for note in LINE}
    steps = [ask.midi - by_pitch[onset_sec[np.abs(onset_sec - ask.onset_sec).argmin()]] for ask in never]
    assert {-2, -1, 1, 2, -12, 12} <= set(steps)


def test_a_slide_out_of_a_sounding_note_is_asked_for_where_it_arrives() -> None:
    slid = [replace(n, how="slide", arrive_sec=n.onset_sec + 0.2) for n in LINE]
    struck = [replace(n, to_midi=n.midi + 2) for n in slid]
    for notes, later_sec in ((slid, 0.2), (struck, 0.0)):
        asks = [ask for seed in range(40) for ask in _drawn(notes, seed) if ask.came]
        late = [ask.onset_sec - LINE[ask.midi - 48].onset_sec for ask in asks]
        assert np.median(late) == pytest.approx(later_sec, abs=0.01)


def test_the_listener_is_told_of_asks_as_of_a_lick() -> None:
    asks = [Ask(onset_sec=1.0, midi=60, came=True), Ask(onset_sec=1.2, midi=65, came=False)]
    wanted = [
        *asked_at(1.0, 60, eighth_sec=0.11, drone_midi=69),
        *asked_at(1.2, 65, eighth_sec=0.11, drone_midi=69),
    ]
    assert expectations_of(asks, 0.11, 69) == wanted


def _take(seed: int = 0, **more: object) -> TrueTake:
    told: dict = {
        "seed": seed,
        "kind": "plucks",
        "nps": 8.0,
        "rate": 44100,
        "sound": plucked(44100, ROLL[:4], duration_sec=0.9),
        "notes": tuple(_note(sec, round(midi)) for sec, midi, _ in ROLL[:4]),
        "tuning_cents": 0.0,
        "open_midi": (67, 50, 55, 59, 62),
    } | more
    return TrueTake(**told)


@pytest.fixture(scope="module")
def seen() -> dict[str, Rows]:
    """The plucked notes, each asked for where it came."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(weighing, "drawn_asks", _all_came)
        return rows(_take(), 2)


def _all_came(notes: Sequence[TrueNote], eighth_sec: float, rng: np.random.Generator) -> list[Ask]:
    assert eighth_sec == EIGHTH_SEC
    return [Ask(onset_sec=note.onset_sec, midi=note.midi, came=True) for note in notes]


def test_each_note_is_begun_once_in_each_way_by_each_look(seen: dict[str, Rows]) -> None:
    assert list(seen) == list(LOOKS)
    for sooner, look in enumerate(seen.values()):
        assert look.seen.shape == (len(look.begun), width(sooner, FACTS))
        assert look.begun.dtype == bool
        assert look.begun.sum() == 2 * len(ROLL[:4])
        heights = look.seen[look.begun, -2]
        pitches = sorted(round(65 + 12 * float(height)) for height in heights)
        assert pitches == sorted(2 * [round(midi) for _, midi, _ in ROLL[:4]])
        assert (look.seen[look.begun, 0] > 0.0).all()  # blind odds
        assert np.isfinite(look.seen).all()


def test_what_is_neither_right_nor_wrong_or_teaches_nothing_is_left_out(seen: dict[str, Rows]) -> None:
    for sooner, look in enumerate(seen.values()):
        odds, asked = 5.0 * look.seen[:, 0], look.seen[:, sooner + 2]
        least_asked = np.log10((0.02 + 0.003) / 0.003)
        assert ((odds > -6.001) | (asked > least_asked - 1e-3)).all()
        assert (odds < -6.0).any()  # asked for, and not there
    ghosts = _take(notes=tuple(replace(note, counts=False) for note in _take().notes))
    pitches = {note.midi for note in ghosts.notes}
    for look in rows(ghosts, 1).values():
        assert not look.begun.any()
        loud = look.seen[look.seen[:, 0] > 0.5]
        assert not {round(65 + 12 * float(height)) for height in loud[:, -2]} & pitches


def test_a_take_of_which_nothing_is_asked_teaches_what_is_heard_unasked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(weighing, "drawn_asks", lambda notes, eighth_sec, rng: [])
    for sooner, look in enumerate(rows(_take(), 1).values()):
        assert look.begun.sum() == len(ROLL[:4])
        assert np.abs(look.seen[:, sooner + 2]).max() < 1e-5
        assert 5.0 * look.seen[:, 0].min() > -6.001


class _Known:
    """A tuning that is known from the beginning."""

    cents, wants_hints = 0.0, False

    def add(self, cents: float, confidence: float) -> None:
        """Nothing to learn."""


def _recorded(kept: list[list[np.ndarray]]) -> Callable[..., np.ndarray]:
    def recording(odds: Sequence[np.ndarray], *others: np.ndarray) -> np.ndarray:
        kept.append([*odds, *others])
        return inputs(odds, *others)

    return recording


def test_the_weighers_learn_from_what_listening_sees(monkeypatch: pytest.MonkeyPatch) -> None:
    learnt: list[list[np.ndarray]] = []
    heard: list[list[np.ndarray]] = []
    monkeypatch.setattr(weighing, "_TUNING_SD_CENTS", 0.0)
    monkeypatch.setattr(weighing, "drawn_asks", _all_came)
    monkeypatch.setattr(weighing, "inputs", _recorded(learnt))
    monkeypatch.setattr(informed, "inputs", _recorded(heard))
    monkeypatch.setattr("listener.ear.TuningOffset", _Known)
    # What was heard 40 ms before counts as just before, what was heard 90 ms before does not.
    plucks = [(0.30, 55, 0.2), (0.39, 62, 0.2), (0.43, 67, 0.2), (0.55, 60, 0.2)]
    notes = tuple(_note(sec, midi) for sec, midi, _ in plucks)
    take = _take(sound=plucked(44100, plucks, duration_sec=0.8), notes=notes)
    rows(take, 1)
    told = expectations_of(_all_came(take.notes, EIGHTH_SEC, np.random.default_rng()), EIGHTH_SEC, 67)
    Ear(take.rate, expectations=told).feed(take.sound)
    for looks in range(1, len(LOOKS) + 1):
        mine, its = ([one for one in all_ if len(one) == looks + 3] for all_ in (learnt, heard))
        assert len(mine) > len(ROLL[:4])
        at = 0
        for one in mine:  # in order; listening also meets strikes that not every look could look at
            while not all(np.allclose(a, b, atol=1e-5) for a, b in zip(one, its[at], strict=True)):
                at += 1
            at += 1


@pytest.mark.parametrize(("pitches", "drone"), [([69, 55, 55, 55, 64, 64], 64), ([50, 61], 67), ([], 67)])
def test_slips_go_to_the_pitch_struck_most_that_a_fifth_string_may_have(
    monkeypatch: pytest.MonkeyPatch, pitches: list[int], drone: int
) -> None:
    told: list[tuple[float, int]] = []

    def recording(asks: Sequence[Ask], eighth_sec: float, drone_midi: int) -> list[Expectation]:
        told.append((eighth_sec, drone_midi))
        return []

    monkeypatch.setattr(weighing, "expectations_of", recording)
    notes = tuple(_note(0.1 * k, midi) for k, midi in enumerate(pitches))
    rows(_take(notes=notes, sound=np.zeros(4410, np.float32), nps=1.0), 1)
    assert told == [(0.5, drone)]  # an eighth is never reckoned longer than half a second


def test_takes_are_laid_one_after_the_other_in_the_order_of_their_seeds(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    asked: list[tuple[int, bool, Path | None]] = []

    def drawn(seed: int, *, aside: bool, notes_folder: Path | None) -> TrueTake:
        asked.append((seed, aside, notes_folder))
        return _take(seed)

    def told(take: TrueTake, ways: int) -> dict[str, Rows]:
        assert ways == 3
        one = Rows(seen=np.full((2, 5), take.seed, np.float32), begun=np.array([True, False]))
        return dict.fromkeys(LOOKS, one)

    monkeypatch.setattr(weighing, "drawn", drawn)
    monkeypatch.setattr(weighing, "rows", told)
    found = gathered([7, 8], notes_folder=tmp_path, ways=3, workers=1)
    assert asked == [(7, False, tmp_path), (8, False, tmp_path)]
    assert list(found) == list(LOOKS)
    for look in found.values():
        assert look.seen[:, 0].tolist() == [7, 7, 8, 8]
        assert look.begun.tolist() == [True, False, True, False]


def test_trust_is_learnt_and_the_same_seed_learns_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    torch = pytest.importorskip("torch")
    from tests.bench.train import trusting

    monkeypatch.setattr(trusting, "_BATCH", 50)
    threads = torch.get_num_threads()
    torch.set_num_threads(1)
    rng = np.random.default_rng(0)
    seen = rng.standard_normal((800, 6)).astype(np.float32)
    begun = seen[:, 0] + 0.5 * np.maximum(seen[:, 1], 0.0) > 0.3
    (learnt, loss), (again, _), (other, _) = (
        trusting.trusted(Rows(seen=seen, begun=begun), seed=seed) for seed in (1, 1, 2)
    )
    torch.set_num_threads(threads)
    odds = Weigher(learnt).log_odds(seen)
    assert ((odds > 0.0) == begun).mean() > 0.95
    assert loss == pytest.approx(float(np.mean(np.logaddexp(0.0, np.where(begun, -odds, odds)))), abs=0.02)
    assert all(np.array_equal(again[name], array) for name, array in learnt.items())
    assert not np.array_equal(other["see"], learnt["see"])
    assert {array.dtype for array in learnt.values()} == {np.dtype(np.float32)}
