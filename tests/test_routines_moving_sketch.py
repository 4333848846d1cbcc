"""Which places a moved note has, and what becomes of slurs."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from routines.chords import Chord
from routines.library import all_licks, load
from routines.lick import Lick
from routines.moving.drones import Drones, drones_moved
from routines.moving.sketch import TOP_FRET, Changes, Sketch, sketched
from routines.moving.source import source_of
from routines.neck import Neck, Place
from tests.lick_texts import HOME, typed


def moved(lick: Lick, half_steps: int, neck: Neck | None = None, **changes: object) -> Sketch:
    source = source_of(lick)
    drones = drones_moved(source, neck or Neck(), half_steps, Chord.parse("G"))
    return sketched(source, drones, half_steps, Changes(**changes))  # type: ignore[arg-type]


@given(st.sampled_from(all_licks()), st.integers(-12, 12))
def test_every_place_sounds_what_is_wanted(lick: Lick, half_steps: int) -> None:
    sketch = moved(lick, half_steps)
    neck = sketch.drones.neck
    for index, wanted in sketch.wanted.items():
        note = lick.notes[index]
        begins = note.from_midi if note.technique == "choke" else note.midi
        assert wanted.finger == ("T" if {place.string for place in wanted.choices} == {5} else "")
        for place in wanted.choices:
            if index in sketch.drones.open:
                assert place == Place(5, 0)
                continue
            assert begins is not None
            assert neck.midi(place.string, place.fret) == begins + half_steps
            assert place.fret <= TOP_FRET
            assert place != Place(5, 0) or (note.string, note.fret) == (5, 0)


@given(st.sampled_from(all_licks()), st.integers(-12, 12))
def test_both_notes_of_a_slur_have_the_same_strings(lick: Lick, half_steps: int) -> None:
    sketch = moved(lick, half_steps)
    for index, wanted in sketch.wanted.items():
        if wanted.slurred_from is None or index in sketch.homeless:
            continue
        source = sketch.wanted[wanted.slurred_from]
        if source.choices:
            assert {p.string for p in wanted.choices} == {p.string for p in source.choices}


def test_a_note_below_the_lowest_string_has_no_place() -> None:
    low = typed(f"4/0 . 1/0 5/0 2/1 . 1/0 5/0 {HOME}")
    assert moved(low, -2).homeless == (0,)
    assert moved(low, 10).homeless == ()
    assert moved(low, -2, Neck("gCGBD")).homeless == ()


def test_a_slide_and_a_choke_keep_off_the_open_string() -> None:
    lick = typed(f"3/2s4 . 1/0 5/0 2/1c2 . 1/0 5/0 {HOME}")
    down = moved(lick, -2)  # the slide from A to B becomes G to A: open on the third string
    assert down.wanted[0].choices == (Place(4, 7),)
    choke = next(i for i, w in down.wanted.items() if w.technique == "choke")
    assert Place(2, 0) not in moved(lick, -1).wanted[choke].choices


def test_a_slide_to_its_own_eighth_begins_at_a_fret() -> None:
    lick = typed(f"3/2s 3/4 1/0 5/0 2/1 . 1/0 5/0 {HOME}")
    down = moved(lick, -2)
    assert [p.string for p in down.wanted[0].choices] == [4]
    assert [p.string for p in down.wanted[1].choices] == [4]


def test_a_slur_without_a_common_string_is_picked() -> None:
    # D3 hammered to C4 on the fourth string lies on one string no more where the first is D3 itself.
    lick = typed(f"4/0h 4/10 1/0 5/0 2/1 . 1/0 5/0 {HOME}")
    far = moved(lick, 9)  # B3 to A4: the second string, frets 0 and 10; fine
    assert far.unslurred == ()
    none = moved(lick, 0, shifts={0: (-12,), 1: (0,)})
    assert none.homeless == (0,)
    lifted = moved(lick, 0, shifts={0: (0,), 1: (12,)})  # D3 and C5 share no string below fret 18
    assert lifted.unslurred == (1,)
    assert lifted.wanted[1].picked
    assert lifted.wanted[1].slurred_from is None


def test_inside_an_eighth_a_lost_slur_takes_its_note_along() -> None:
    lick = typed(f"4/0h9 . 1/0 5/0 2/1 . 1/0 5/0 {HOME}")
    lost = moved(lick, 0, shifts={0: (0,), 1: (12,)})
    assert 1 not in lost.wanted
    assert lost.changes.left_out == frozenset({1})


def test_a_marked_seven_on_the_fifth_string_is_refingered_where_that_is_tuned_away() -> None:
    lick = typed(
        "3/2 . 1/2 . 5/0 . . . | 1/4 . . . . . . .",
        chords={0: "A7", 8: "D"},
        marks={4: "7"},
        key="D",
    )
    seven = next(i for i, note in enumerate(lick.notes) if note.role == "seven")
    assert moved(lick, 0).wanted[seven].choices == (Place(5, 0),)
    up = moved(lick, 2)  # A: the seven of B7, and the fifth string is still g
    assert {p.string for p in up.wanted[seven].choices} <= {1, 2, 3, 4}
    tuned = sketched(source_of(lick), Drones(neck=Neck("aDGBD")), 2)
    assert tuned.wanted[seven].choices == (Place(5, 0),)


def test_a_bass_beside_a_pinch_stays_on_the_low_strings() -> None:
    thumb = {0: "T", 4: "T", 7: "T"}
    chops = typed("4/7 . 3/9+2/10+1/11 . 4/7 . . 4/7 | 2/0 . . . . . . .", fingers=thumb)
    alone = typed("4/7 . 3/9 . 4/7 . . 4/7 | 2/0 . . . . . . .", fingers=thumb)
    # A up a fourth is the open first string, and frets 7 and 12 of the third and the fourth.
    basses = [i for i, note in enumerate(chops.notes) if note.string == 4]
    assert source_of(chops).basses == frozenset(basses[:2])
    for index in basses[:2]:
        assert {p.string for p in moved(chops, 5).wanted[index].choices} == {3, 4}
    assert {p.string for p in moved(chops, 5).wanted[basses[2]].choices} >= {1, 2}
    assert source_of(alone).basses == frozenset()
    # An octave up there is no place on them but far up: the second string will not do where the third will.
    high = moved(chops, 14).wanted[basses[0]].choices
    assert {p.string for p in high} == {3}


def test_left_out_slower_and_shifted() -> None:
    supper = load("slab-wood-supper")
    assert 0 not in moved(supper, 0, left_out=frozenset({0})).wanted
    assert moved(supper, 0, tempo_half_bpm=80.0).tempo_half_bpm == 80.0
    assert moved(supper, 0).tempo_half_bpm == supper.top_tempo_half_bpm
    assert moved(supper, 0, shifts={0: (2,)}).wanted[0].choices == moved(supper, 2).wanted[0].choices


def test_what_the_hands_are_asked_counts_the_notes_anew() -> None:
    lick = typed(f"3/2 . 3/2h 3/4 2/1 . 1/0 5/0 {HOME}")
    wanted, given_ = moved(lick, 0, left_out=frozenset({0})).asked()
    assert wanted[1].slurred_from == 0
    assert len(wanted) == len(lick.notes) - 1
    assert given_.changes_quarters == (4.0,)
    assert given_.tempo_half_bpm == lick.top_tempo_half_bpm
