"""What becomes of the open fifth string: raised, left, or its notes fingered or left out."""

from __future__ import annotations

import pytest

from routines.chords import Chord
from routines.library import load
from routines.lick import Lick
from routines.moving.drones import Drones, drones_moved
from routines.moving.names import name_move
from routines.moving.source import source_of
from routines.neck import Neck
from tests.lick_texts import typed

SUPPER = load("slab-wood-supper")  # drones over D7 and G
E7_A = typed("3/1 . 2/0 . 2/3 . 5/0 . | 2/2 . 5/0 . . . . .", chords={0: "E7", 8: "A"}, key="A")


def moved(lick: Lick, key: str, neck: Neck | None = None) -> Drones:
    to = Chord.parse(key)
    half_steps = name_move(Chord.parse(lick.key), to).half_steps
    return drones_moved(source_of(lick), neck or Neck(), half_steps, to)


@pytest.mark.parametrize(("key", "open_midi"), [("G", 67), ("A", 69), ("Bb", 70), ("B", 71)])
def test_the_drone_goes_along_where_the_fifth_string_reaches(key: str, open_midi: int) -> None:
    there = moved(SUPPER, key)
    assert there.neck.open_midi(5) == open_midi
    assert there.open == frozenset(source_of(SUPPER).drones)
    assert there.words.startswith("the drone goes along: fifth string")


def test_the_drone_stays_where_it_is_a_tone_of_the_chords() -> None:
    there = moved(SUPPER, "Gb")  # g# would be needed; f# by the tuning is under Db7 and Gb
    assert there.neck.open_midi(5) in (68, 70)
    lick = typed("3/1 . 2/0 . . . 5/0 . | 2/2 . 5/0 . . . . .", chords={0: "Em", 8: "Em"}, key="Em")
    there = moved(lick, "Em")
    assert there.words.startswith("the drone goes along")
    assert moved(lick, "Am").words.endswith("fifth string at g, as it is tuned")


def test_the_drone_stays_where_it_is_root_or_fifth_of_the_key() -> None:
    there = moved(SUPPER, "C")
    assert there.neck == Neck()
    assert there.words == "the drone stays, the fifth of C: fifth string at g, as it is tuned"
    roll = load("backward-roll")  # over C, and its g would go along to d
    there = moved(roll, "G")
    assert (there.neck, there.open) == (Neck(), frozenset(source_of(roll).drones))
    assert there.words.startswith("the drone stays, the root of G")
    rubbing = typed("4/4 . 3/2 . 2/1 . 5/0 . | 2/0 . . . . . . .", chords={0: "E7", 8: "G"})
    assert moved(rubbing, "G").neck == Neck()  # g under E7 and its G#, for a moment


def test_root_and_fifth_come_before_what_would_go_along() -> None:
    lick = typed("4/4 . 1/0 . 2/1 . 1/0 5/0 | 2/0 . . . . . . .", key="F", chords={0: "C7", 8: "F"})
    assert moved(lick, "G").neck == Neck()  # along it would be a


def test_the_drone_stays_where_it_does_no_harm() -> None:
    there = moved(SUPPER, "F")  # g under C7 and F: fifth and ninth
    assert there.neck == Neck()
    assert there.words.startswith("the drone stays, which rubs against none of its chords")


def test_the_drone_stays_even_where_another_would_fit_better() -> None:
    lick = typed("3/0 . 2/0 . . . . . | 2/1 . 5/0 . . . . .", chords={0: "G7", 8: "C"})
    assert moved(lick, "F").neck == Neck()  # under Bb g is the sixth; bb would be its root


def test_g_gives_way_where_it_rubs() -> None:
    there = moved(SUPPER, "E")  # under B7 and E g lies a half step from G#
    assert there.neck.open_midi(5) == 71
    assert there.neck.fifth_string.how == "spike"
    assert there.words.startswith("the drone becomes b, a tone of each")
    assert there.words.endswith("fifth string up to b, by a spike at fret 9")
    assert moved(SUPPER, "Eb").neck.open_midi(5) == 70  # under Bb7 g lies a half step from Ab


def test_never_over_e7_even_where_its_third_is_not_played() -> None:
    bare = typed("4/4 . 3/2 . 2/1 . 5/0 . | 2/0 . . . . . . .")  # moved to A: E7 with its G#
    silent = typed("4/0 . 3/2 . 2/1 . 5/0 . | 2/0 . . . . . . .")  # and without it
    for lick in (bare, silent):
        source = source_of(lick)
        # Counted in the lick's own key D7 is E7, and F is what g would be there.
        assert 5 in source.rubbing[0]


def test_a_drone_rubs_with_what_is_pinched_with_it() -> None:
    pinch = typed(
        "4/4 . 3/2 . 2/1 . 5/0+2/2 . | 2/0 . . . . . . ."
    )  # c#, no tone of D7, has c and d beside it
    apart = typed("4/4 . 3/2 . 2/1 . 5/0 2/2 | 2/0 . . . . . . .")
    assert {0, 2} <= source_of(pinch).rubbing[0]
    assert not {0, 2} & source_of(apart).rubbing[0]


def test_drones_that_rub_everywhere_are_fingered_or_left_out() -> None:
    # Chords so close that each string from g to b rubs against one of them.
    lick = typed(
        "3/0 5/0 2/0 . 3/3 5/0 2/3 . | 3/1 5/0 2/1 . 3/4 5/0 2/4 . | 2/0 . 5/0 . . . . .",
        chords={0: "G7", 4: "Bb7", 8: "Ab7", 12: "B7", 16: "G"},
    )
    there = moved(lick, "E")
    source = source_of(lick)
    assert there.open | there.fingered < frozenset(source.drones)
    assert all(source.functions[index] in ("root", "fifth") for index in there.fingered)
    assert "are fingered or left out" in there.words
    assert there.without(there.fingered).fingered == frozenset()
    usual = (there.neck.open_midi(5) - name_move(Chord.parse("G"), Chord.parse("E")).half_steps) % 12
    for index, rubs in zip(source.drones, source.rubbing, strict=True):
        assert (index in there.open) == (usual not in rubs)


def test_a_drone_that_a_seven_falls_to_is_a_voice() -> None:
    lick = typed(
        "3/2 . 3/3 . 1/6 . . . | 5/0 . 3/0 . 5/0 . . .",
        chords={0: "Bb7", 8: "Eb"},
        marks={8: "r"},
        key="Eb",
    )
    source = source_of(lick)
    voiced = next(i for i, note in enumerate(lick.notes) if note.onset_quarters == 4.0)
    assert voiced in source.guides
    assert [lick.notes[i].onset_quarters for i in source.drones] == [6.0]


def test_a_lick_without_drones_leaves_the_string_alone() -> None:
    there = moved(load("half-an-inch-of-kerf"), "B")
    assert (there.neck, there.words, there.open) == (Neck(), "", frozenset())


def test_under_a_capo_it_is_raised_from_what_is_usual_there() -> None:
    there = moved(SUPPER, "B", Neck(capo=2))  # a is usual; b is two above
    assert there.neck.open_midi(5) == 71
    assert there.neck.fifth_string.how == "spike"


def test_a_stopped_fifth_string_is_raised_by_a_spike() -> None:
    lick = typed("5/7 . 1/0 5/9 2/1 . 1/0 5/0 | 2/0 . . . . . . .")
    assert moved(lick, "A").neck.fifth_string.how == "spike"
    assert moved(SUPPER, "A").neck.fifth_string.how == "peg"


def test_e7_to_a_keeps_its_drone_off_g_sharp() -> None:
    assert moved(E7_A, "G").neck.open_midi(5) in (67, 69, 71)
