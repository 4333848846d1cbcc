"""The simulated player's hand: due times, habits, slurs, chokes, how strings ring; and its ideal hearing."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.performance import HandSettings, Performance, PlayedNote, as_heard, perform
from feedback.played import OPEN_RINGS_SEC, rung
from routines.errors import BadRoutine
from routines.library import all_licks
from routines.lick import Lick
from routines.neck import Neck
from tests.scores import A, B, lick

STEADY = HandSettings(
    jitter_ms=0.0, dynamics_db=0.0, thumb_db=0.0, pinch_ms=0.0, lift_ms=(0.0, 0.0), slide_ms=(30.0, 30.0)
)
EIGHTH = 0.1
TEMPO = 150.0


def steady(of: Lick, **habits: float) -> Performance:
    return perform(of, tempo_half_bpm=TEMPO, seed=1, start_sec=1.0, hand=replace(STEADY, **habits))


def eighths(performance: Performance) -> list[float]:
    return [round((note.onset_sec - performance.start_sec) / EIGHTH, 6) for note in performance.notes]


def test_a_steady_hand_plays_what_is_written_when_it_is_due() -> None:
    played = steady(A)
    assert eighths(played) == [2 * note.onset_quarters for note in A.notes]
    assert [(n.midi, n.string, n.fret) for n in played.notes] == [(n.midi, n.string, n.fret) for n in A.notes]
    assert {note.level_db for note in played.notes} == {0.0}
    assert played.open_midi == {1: 62, 2: 59, 3: 55, 4: 50, 5: 67}


def test_a_capo_moves_the_open_strings() -> None:
    assert steady(lick("3/0 2/0", "A", neck=Neck(capo=2))).open_midi[5] == 69


def test_a_pickup_comes_before_the_start() -> None:
    of = lick("3/0 2/0 1/0 | 2/0", "G", pickup_eighths=3)
    assert eighths(steady(of)) == [-3.0, -2.0, -1.0, 0.0]


def test_habits_move_onsets_as_they_say() -> None:
    written = [2 * note.onset_quarters for note in A.notes]
    assert eighths(steady(A, lean_ms=-20.0)) == [pytest.approx(e - 0.2) for e in written]
    assert eighths(steady(A, bounce=0.6)) == [pytest.approx(e + (0.2 if e % 2 else 0.0)) for e in written]
    assert eighths(steady(A, drift_percent=25.0)) == [pytest.approx(e / 1.25) for e in written]


def test_a_bounce_leaves_the_places_between_eighths_in_order() -> None:
    of = lick("2/0h2/1 2/3 . 2/0", "G")
    assert eighths(steady(of, bounce=0.6)) == [pytest.approx(e) for e in (0.0, 0.6, 1.2, 3.2)]


def test_voices_of_a_pinch_stay_together_and_part_a_little() -> None:
    of = lick("3/0+2/0+1/0 . . . 4/0", "G")
    for seed in range(20):
        played = perform(of, tempo_half_bpm=TEMPO, seed=seed, hand=HandSettings(jitter_ms=8.0, pinch_ms=4.0))
        onsets = [note.onset_sec for note in played.notes[:3]]
        assert 0.0 < onsets[1] - onsets[0] <= 0.004
        assert onsets[2] - onsets[0] <= 0.008


def test_jitter_has_its_size_and_is_never_wild() -> None:
    of = lick(" ".join(["3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0 |"] * 20)[:-2], " ".join(["G"] * 20))
    played = perform(of, tempo_half_bpm=60.0, seed=5, hand=HandSettings(jitter_ms=6.0))
    off_ms = [
        1e3 * (note.onset_sec - played.start_sec - target.onset_quarters * 0.5)
        for note, target in zip(played.notes, of.notes, strict=True)
    ]
    spread = (sum(ms**2 for ms in off_ms) / len(off_ms)) ** 0.5
    assert 4.5 < spread < 7.5
    assert max(map(abs, off_ms)) <= 15.0 + 1e-6


def test_the_thumb_is_louder_and_slurs_are_softer() -> None:
    of = lick("2/0h2/1 3/0 . .", "G")
    slid = lick("3/2 s3/4", "G")
    assert [note.level_db for note in steady(slid, slur_db=-5.0).notes] == [0.0, -5.0]
    thumbed = replace(of, notes=tuple(replace(n, finger="T") if n.string == 3 else n for n in of.notes))
    played = perform(thumbed, tempo_half_bpm=TEMPO, seed=1, hand=replace(STEADY, thumb_db=2.0, slur_db=-5.0))
    assert [note.level_db for note in played.notes] == [0.0, -5.0, 2.0]


def test_open_strings_ring_on_and_stopped_ones_end_at_the_change() -> None:
    of = lick("3/2 2/0 1/4 . 3/0 . . . | 1/0", "D7 G")
    third, second, first, again, last = steady(of).notes
    assert third.duration_sec == pytest.approx(4 * EIGHTH)
    assert second.duration_sec == pytest.approx(OPEN_RINGS_SEC)
    assert first.duration_sec == pytest.approx(6 * EIGHTH)
    assert [again.duration_sec, last.duration_sec] == pytest.approx([OPEN_RINGS_SEC] * 2)


def test_a_string_struck_again_ends_what_rang_on_it() -> None:
    line = [PlayedNote(onset_sec=sec, midi=62, string=1, fret=0) for sec in (0.0, 0.25, 1.0)]
    assert [note.duration_sec for note in rung(line, [])] == pytest.approx([0.25, 0.75, OPEN_RINGS_SEC])


def test_a_note_played_right_before_the_hand_leaves_still_speaks() -> None:
    (note,) = rung([PlayedNote(onset_sec=1.0, midi=60, string=2, fret=1)], [1.01])
    assert note.duration_sec == pytest.approx(0.060)


def test_rung_of_nothing_is_nothing() -> None:
    assert rung([], [1.0]) == ()


@pytest.mark.parametrize(
    ("text", "how", "picked", "from_midi", "struck"),
    [
        ("2/0 h2/1", "hammer", False, None, 60),
        ("2/1 p2/0", "pull", False, None, 59),
        ("3/2 s3/4", "slide", False, 57, 59),
        (". 3/2s3/4", "slide", True, 57, 57),
        (". 2/10c11", "choke", True, 69, 69),
    ],
)
def test_how_a_note_begins(text: str, how: str, picked: bool, from_midi: int | None, struck: int) -> None:
    note = steady(lick(text, "G")).notes[-1]
    assert (note.how, note.picked, note.from_midi, note.struck_midi) == (how, picked, from_midi, struck)


def test_a_slide_arrives_in_its_time_and_a_choke_never_beyond_two_fifths_of_an_eighth() -> None:
    slide = steady(lick(". 3/2s3/4", "G")).notes[0]
    assert slide.arrive_sec == pytest.approx(slide.onset_sec + 0.030)
    choke = steady(lick(". 2/10c11", "G")).notes[0]
    assert choke.arrive_sec == pytest.approx(choke.onset_sec + 0.4 * EIGHTH)
    slow = perform(lick(". 2/10c11", "G"), tempo_half_bpm=40, seed=1, hand=STEADY).notes[0]
    assert 0.080 <= (slow.arrive_sec or 0.0) - slow.onset_sec <= 0.150


def test_a_choke_after_its_own_fret_still_begins_there() -> None:
    assert steady(lick("2/10 2/10c12", "G")).notes[-1].struck_midi == 69


def test_a_slur_whose_first_note_is_left_out_is_picked() -> None:
    of = lick("1/0 2/1 p2/0 1/0 5/0 1/0 3/0 .", "D7")
    played = [
        perform(of, tempo_half_bpm=TEMPO, seed=seed, mistakes=["all-sevens-missing"], hand=STEADY)
        for seed in range(3)
    ]
    for performance in played:
        second = next(note for note in performance.notes if note.string == 2)
        assert (second.midi, second.how, second.picked) == (59, "pick", True)


def test_a_slur_from_a_higher_fret_than_meant_is_pulled() -> None:
    of = lick("1/0 2/2 p2/1 1/0", "D7 G")
    (index,) = [ask.note for ask in of.sevenths]
    played = perform(of, tempo_half_bpm=TEMPO, seed=1, mistakes=["seven-root"], hand=STEADY)
    assert of.notes[index].technique == "pull"
    assert [(note.midi, note.how) for note in played.notes if note.string == 2] == [
        (61, "pick"),
        (62, "hammer"),
    ]


def test_a_long_choke_is_sometimes_let_down_before_its_string_is_struck() -> None:
    of = lick("2/10c11 . . . . . . 2/10", "G")
    chokes = [perform(of, tempo_half_bpm=60, seed=seed).notes[0] for seed in range(24)]
    let_down = [note for note in chokes if note.let_down_sec is not None]
    assert 0 < len(let_down) < len(chokes)
    for note in let_down:
        assert note.arrive_sec is not None
        assert note.arrive_sec < (note.let_down_sec or 0.0) < note.onset_sec + note.duration_sec


def test_as_heard_is_the_truth_in_a_listeners_words() -> None:
    played = steady(lick("3/2 h3/4 2/10c11 .", "G"))
    plain, hammered, choke = as_heard(played)
    assert (plain.onset_sec, plain.midi, plain.cents, plain.confidence) == (1.0, 57, 0.0, 1.0)
    assert plain.heard_sec == pytest.approx(1.030)
    assert plain.settled_sec == pytest.approx(1.100)
    assert (hammered.midi, hammered.path) == (59, ())
    assert choke.midi == 69
    assert choke.path[0] == (choke.onset_sec, 0.0)
    assert choke.path[-1] == (pytest.approx(played.notes[-1].arrive_sec), pytest.approx(100.0))


def test_a_slide_out_of_a_sounding_note_is_heard_where_it_arrives() -> None:
    event = as_heard(steady(lick("3/2 s3/4", "G")))[-1]
    assert (event.midi, event.path) == (59, ())


def test_the_seed_decides_everything() -> None:
    mistakes = ["filler-missing"]
    first = perform(B, tempo_half_bpm=100, seed=7, mistakes=mistakes)
    assert first == perform(B, tempo_half_bpm=100, seed=7, mistakes=mistakes)
    assert first.notes != perform(B, tempo_half_bpm=100, seed=8, mistakes=mistakes).notes


def test_a_mistake_leaves_the_other_notes_as_they_were() -> None:
    faithful = perform(A, tempo_half_bpm=100, seed=3)
    slipped = perform(A, tempo_half_bpm=100, seed=3, mistakes=["seven-missing"])
    kept = {(note.onset_sec, note.midi, note.level_db) for note in slipped.notes}
    assert kept < {(note.onset_sec, note.midi, note.level_db) for note in faithful.notes}
    assert len(kept) == len(A.notes) - 1


@pytest.mark.parametrize("tempo", [0.0, -96.0, float("nan"), float("inf")])
def test_a_tempo_that_is_none_is_refused(tempo: float) -> None:
    with pytest.raises(BadRoutine, match="tempo"):
        perform(A, tempo_half_bpm=tempo, seed=1)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(all_licks()), st.floats(30.0, 200.0), st.integers(0, 10_000))
def test_any_pass_is_in_order_and_each_string_sounds_one_note(of: Lick, tempo: float, seed: int) -> None:
    played = perform(of, tempo_half_bpm=tempo, seed=seed)
    assert len(played.notes) == len(of.notes)
    onsets = [note.onset_sec for note in played.notes]
    assert onsets == sorted(onsets)
    for string in range(1, 6):
        line = [note for note in played.notes if note.string == string]
        for note, following in pairwise(line):
            assert 0.0 < note.duration_sec <= following.onset_sec - note.onset_sec + 1e-9
    assert all(n.arrive_sec is None or n.arrive_sec > n.onset_sec for n in played.notes)
