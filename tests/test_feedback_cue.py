"""The played cue: what is one and what is none, by reports alone and through the ear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.cue import AFTER, BEFORE, OFF, SAME_CENTS, UNEVEN, Cue
from feedback.mistakes import MISTAKES
from feedback.performance import perform
from feedback.played import Performance, PlayedNote, as_heard, rung
from feedback.player import render
from feedback.provisional import SAYS_SEC
from listener.ear import Ear
from listener.expecting import Expected
from listener.notes import NoteEvent, Report
from routines.errors import BadRoutine
from routines.library import load
from routines.lick import Lick
from tests.few import few_licks
from tests.in_turn import in_turn

OPEN = {5: 67, 4: 50, 3: 55, 2: 59, 1: 62}
FIFTH = OPEN[5]
TEMPO = 60.0
HALF = 1.0  # seconds
FIRST = 3.0  # the first stroke of a cue here
STEP = 0.02
SETTLES = 0.14
RATE = 44100

Said = tuple[float, Report]


def _note(sec: float, midi: int = FIFTH, confidence: float = 0.99, cents: float = 0.0) -> NoteEvent:
    return NoteEvent(
        onset_sec=sec,
        midi=midi,
        cents=cents,
        level_db=-20.0,
        confidence=confidence,
        heard_sec=sec + 0.055,
        settled_sec=sec + SETTLES,
    )


def _said(notes: Sequence[NoteEvent]) -> list[Said]:
    """When an ear says what of notes."""
    heard = [(n.onset_sec + 0.055, Report("heard", k, n)) for k, n in enumerate(notes)]
    settled = [(n.onset_sec + SETTLES, Report("settled", k, n)) for k, n in enumerate(notes)]
    return sorted([*heard, *settled], key=lambda one: one[0])


def _told(said: Sequence[Said], until: float, tempo: float = TEMPO, midi: int = FIFTH) -> list[float]:
    """When a cue is told."""
    cue, waiting, told = Cue(midi, tempo), list(said), []
    for k in range(1, round(until / STEP) + 1):
        now = k * STEP
        reports = [report for sec, report in waiting if sec <= now]
        waiting = waiting[len(reports) :]
        if cue.feed(reports, now):
            told.append(now)
    return told


def _strokes(*halves: float) -> list[NoteEvent]:
    return [_note(FIRST + one * HALF) for one in halves]


def _is_cue(notes: Sequence[NoteEvent]) -> bool:
    return bool(_told(_said(sorted(notes, key=lambda note: note.onset_sec)), FIRST + 8 * HALF))


def test_three_open_fifth_strings_are_told_half_a_half_note_after_the_third() -> None:
    told = _told(_said(_strokes(0, 1, 2)), FIRST + 8.0)
    assert told == [pytest.approx(FIRST + 2 + AFTER + SAYS_SEC, abs=STEP + 1e-9)]


@in_turn(
    ("halves", "is_one"),
    [
        ((0, 1), False),
        ((0, 1, 2), True),
        ((0, 1 + 0.9 * OFF, 2 + 1.8 * OFF), True),  # slower, evenly
        ((0, 1 - 0.9 * OFF, 2 - 1.8 * OFF), True),
        ((0, 1 + 1.1 * OFF, 2 + 2.2 * OFF), False),
        ((0, 1 - 1.1 * OFF, 2 - 2.2 * OFF), False),
        ((0, 1 + 0.45 * UNEVEN, 2), True),
        ((0, 1 + 0.55 * UNEVEN, 2), False),
        ((0, 2, 4), False),
        ((0, 0.5, 1), False),
        ((0, 1, 2, 2 + 0.9 * AFTER), False),
        ((0, 1, 2, 2 + 1.2 * AFTER), True),
        ((-1.1 * BEFORE, 0, 1, 2), True),
        ((0, 1, 1.5, 2), False),
    ],
)
def test_how_even_they_are_and_how_far_others_are_away(halves: Sequence[float], is_one: bool) -> None:
    assert _is_cue(_strokes(*halves)) == is_one


@in_turn("at", [-0.95 * BEFORE, 0.0, 0.5, 1.0, 1.5, 2.0, 2.4])
@in_turn("midi", [FIFTH + 12, FIFTH - 12, 62])
def test_any_other_note_spoils_it_and_what_is_not_sure_does_not(at: float, midi: int) -> None:
    other = _note(FIRST + at * HALF, midi)
    assert not _is_cue([*_strokes(0, 1, 2), other])
    assert not _is_cue([*_strokes(0, 1, 2), replace(other, confidence=0.36)])
    assert _is_cue([*_strokes(0, 1, 2), replace(other, confidence=0.34)])


@pytest.mark.parametrize("which", [0, 1, 2])
def test_each_stroke_must_be_right_and_sure(which: int) -> None:
    for wrong in (_note(FIRST + which, 66), _note(FIRST + which, confidence=0.7)):
        strokes = _strokes(0, 1, 2)
        strokes[which] = wrong
        assert not _is_cue(strokes)


def test_a_string_that_is_being_tuned_is_none() -> None:
    for range_cents, is_one in ((0.9 * SAME_CENTS, True), (1.1 * SAME_CENTS, False)):
        moves = [replace(one, cents=range_cents * k / 2) for k, one in enumerate(_strokes(0, 1, 2))]
        assert _is_cue(moves) == is_one


def test_a_string_that_is_wound_up_as_it_is_plucked_is_none() -> None:
    for moved_cents, is_one in (((0, 5, 8), True), ((-30, -15, 0), False), ((0, 10, 40), False)):
        moves = [replace(one, cents=float(c)) for one, c in zip(_strokes(0, 1, 2), moved_cents, strict=True)]
        assert _is_cue(moves) == is_one


def test_what_was_withdrawn_is_no_stroke_and_spoils_nothing() -> None:
    strokes = _strokes(0, 1, 2)
    said = _said(strokes)
    gone = Report("withdrawn", 2, strokes[2])
    assert not _told([*said[:-1], (strokes[2].onset_sec + 0.06, gone)], 12.0)
    ghost = _note(FIRST + 1.5, 62)
    taken_back = [(FIRST + 1.53, Report("heard", 9, ghost)), (FIRST + 1.56, Report("withdrawn", 9, ghost))]
    assert _told(sorted([*said, *taken_back], key=lambda one: one[0]), 12.0)


def test_doubtful_notes_are_no_strokes() -> None:
    strokes = _strokes(0, 1, 2)
    doubtful = [(n.onset_sec + 0.055, Report("doubtful", k, n)) for k, n in enumerate(strokes)]
    assert not _told(doubtful, 12.0)


def test_a_stroke_that_has_not_settled_is_waited_for() -> None:
    said = [one for one in _said(_strokes(0, 1, 2)) if one[1].number != 2 or one[1].kind == "heard"]
    late = FIRST + 2 + 0.9
    said.append((late, Report("settled", 2, _strokes(2)[0])))
    assert _told(said, 12.0) == [pytest.approx(late, abs=STEP + 1e-9)]


def test_it_is_told_once_and_the_same_strokes_are_in_no_other() -> None:
    assert len(_told(_said(_strokes(0, 1, 2)), 20.0)) == 1
    assert len(_told(_said(_strokes(*range(9))), 20.0)) == 1  # a run is one cue, by its first three
    assert len(_told(_said(_strokes(0, 1, 2, 5, 6, 7)), 20.0)) == 2


def test_what_was_heard_before_it_begins_anew_counts_for_nothing() -> None:
    cue, strokes = Cue(FIFTH, TEMPO), _strokes(0, 1, 2)
    for sec, report in _said(strokes[:2]):
        cue.feed([report], sec)
    cue.reset()
    settled = [Report("settled", 2, strokes[2])]
    assert not cue.feed([], FIRST + 1.5)
    assert not cue.feed(settled, FIRST + 2.2)
    assert not cue.feed([], FIRST + 3.0)


def test_a_new_stream_begins_anew() -> None:
    cue = Cue(FIFTH, TEMPO)
    cue.feed([], 500.0)
    told = [cue.feed([r for s, r in _said(_strokes(0, 1, 2)) if k * STEP - STEP < s <= k * STEP], k * STEP)
            for k in range(400)]  # fmt: skip
    assert sum(told) == 1


def test_a_half_note_must_have_been_listened_to_before() -> None:
    strokes = [replace(one, onset_sec=one.onset_sec - FIRST + 0.9 * BEFORE) for one in _strokes(0, 1, 2)]
    assert not _told(_said(strokes), 10.0)
    strokes = [replace(one, onset_sec=one.onset_sec - FIRST + 1.1 * BEFORE) for one in _strokes(0, 1, 2)]
    assert _told(_said(strokes), 10.0)


def test_a_tempo_is_more_than_none() -> None:
    with pytest.raises(ValueError, match="tempo 0"):
        Cue(FIFTH, 0.0)


@settings(max_examples=20, deadline=None)
@given(
    st.floats(30.0, 240.0),
    st.integers(60, 75),
    st.lists(st.floats(-0.02, 0.02), min_size=3, max_size=3),
    st.floats(0.0, 5.0),
)
def test_a_steady_hand_is_understood_at_every_tempo(
    tempo: float, midi: int, jitter: list[float], later: float
) -> None:
    half = 60.0 / tempo
    first = BEFORE * half + 0.1 + later
    strokes = [_note(first + k * half + half * off, midi) for k, off in enumerate(jitter)]
    assert len(_told(_said(strokes), first + 4 * half + 1.0, tempo, midi)) == 1


@in_turn("lick", few_licks(), ids=lambda lick: lick.id)
def test_no_lick_is_a_cue_nor_is_its_ending(lick: Lick) -> None:
    rng = np.random.default_rng(len(lick.notes))
    names = [name for name in sorted(MISTAKES) if not name.startswith("all")]
    for seed in range(2):
        tempo = float(rng.choice([50.0, 80.0, lick.top_tempo_half_bpm]))
        mistakes = () if seed == 0 else (str(rng.choice(names)),)
        try:
            played = perform(lick, tempo_half_bpm=tempo, mistakes=mistakes, seed=seed, start_sec=3.0)
        except BadRoutine:  # no place for it in this lick
            continue
        notes = as_heard(played)
        for asked in (tempo, float(rng.uniform(40.0, 200.0))):
            end = notes[-1].onset_sec + 2.0 * 60.0 / asked
            assert not _told(_said(notes), end, asked, lick.neck.open_midi(5))


def _by_ear(notes: Sequence[PlayedNote], seed: int, sec: float) -> list[tuple[float, list[Report]]]:
    """What an ear says of strings that sound: it was told what to expect before, and nothing of this."""
    played = Performance(
        notes=rung(notes, []),
        lick_id="",
        tempo_half_bpm=90.0,
        start_sec=0.0,
        mistakes=(),
        seed=seed,
        open_midi=OPEN,
    )
    sound = render(played, rate=RATE, seed=seed, duration_sec=sec)
    ear, said = Ear(RATE, expectations=Expected()), []
    for begin in range(0, len(sound), 1024):
        block = sound[begin : begin + 1024]
        said.append(((begin + len(block)) / RATE, ear.feed(block)))
    return said


def _open(sec: float, string: int = 5, level_db: float = 0.0) -> PlayedNote:
    return PlayedNote(onset_sec=sec, midi=OPEN[string], string=string, fret=0, level_db=level_db)


def _cues(said: list[tuple[float, list[Report]]], tempo: float, midi: int = FIFTH) -> int:
    cue = Cue(midi, tempo)
    return sum(cue.feed(reports, now) for now, reports in said)


@pytest.mark.parametrize(("tempo", "seed"), [(110.0, 0), (200.0, 2)])
def test_the_ear_hears_it_from_strings_over_what_still_rings(tempo: float, seed: int) -> None:
    half, rng = 60.0 / tempo, np.random.default_rng(seed)
    first = 0.2 + (BEFORE + 0.1) * half
    strokes = [_open(first + k * half + rng.normal(0.0, 0.008), 5, rng.normal(0.0, 2.0)) for k in range(3)]
    before = [_open(0.1, string) for string in (3, 2, 1)]
    said = _by_ear([*before, *strokes], seed, first + 2.6 * half + 0.2)
    assert _cues(said, tempo) == 1
    assert _cues(said, 1.5 * tempo) == 0


def test_the_ear_hears_none_in_a_pinch_or_in_a_roll() -> None:
    pinched = [_open(0.6 + 0.4 * k, string) for k in range(3) for string in (5, 3 + k % 2)]
    assert _cues(_by_ear(pinched, 3, 1.8), 150.0) == 0
    roll = [_open(0.7 + 0.125 * k, string) for k, string in enumerate((3, 2, 1, 5, 2, 1, 5, 1))]
    said = _by_ear(roll, 4, 2.2)
    assert [_cues(said, tempo) for tempo in (60.0, 80.0, 120.0, 160.0, 240.0)] == [0] * 5


def test_the_ear_hears_none_in_a_lick_and_its_ending() -> None:
    lick = load("slab-wood-supper")
    played = perform(lick, tempo_half_bpm=120.0, seed=6, start_sec=0.6)
    said = _by_ear(played.notes, 6, 3.2)
    assert sum(report.kind == "settled" for _, reports in said for report in reports) > 8
    assert [_cues(said, tempo, lick.neck.open_midi(5)) for tempo in (60.0, 120.0, 240.0)] == [0] * 3
