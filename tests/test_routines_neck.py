"""Where pitches lie: the trade's own facts about tunings, the short string, capos and spikes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.neck import FIFTH_NUT, FRETS, OPEN_TUNINGS, FifthString, Neck, Place
from routines.pitch import note_name

OPEN_G = Neck()
necks = st.one_of(
    st.builds(Neck, st.sampled_from(sorted(OPEN_TUNINGS)), st.integers(0, 12)),
    st.builds(
        Neck,
        st.just("gDGBD"),
        st.integers(0, 7),
        st.builds(FifthString, st.integers(68, 74), st.sampled_from(["peg", "spike"])),
    ),
)


def places(neck: Neck, midi: int) -> str:
    return " ".join(str(place) for place in neck.places(midi))


def falls(neck: Neck, pitch_class: int) -> list[str]:
    return [f"{here}-{there}" for here, there in neck.moves(pitch_class, -1, top_fret=12)]


@pytest.mark.parametrize(
    ("tuning", "names"),
    [
        ("gDGBD", "G4 D3 G3 B3 D4"),
        ("aDGBD", "A4 D3 G3 B3 D4"),
        ("gCGBD", "G4 C3 G3 B3 D4"),
        ("gCGCD", "G4 C3 G3 C4 D4"),
        ("gDGCD", "G4 D3 G3 C4 D4"),
        ("f#DF#AD", "F#4 D3 F#3 A3 D4"),
        ("aDF#AD", "A4 D3 F#3 A3 D4"),
    ],
)
def test_open_strings_are_what_the_name_of_the_tuning_says(tuning: str, names: str) -> None:
    neck = Neck(tuning)
    sounding = [note_name(neck.open_midi(string)) for string in (5, 4, 3, 2, 1)]
    assert " ".join(sounding) == names
    assert "".join(name[:-1] for name in sounding).lower() == tuning.lower()


def test_every_tuning_has_its_row() -> None:
    assert len(OPEN_TUNINGS) == 7


def test_the_top_note_is_c6_and_the_lowest_d3() -> None:
    assert OPEN_G.midi(1, FRETS) == 84
    assert OPEN_G.midi(4, 0) == 50
    assert OPEN_G.places(85) == ()
    assert OPEN_G.places(49) == ()


def test_the_fifth_string_starts_at_fret_five_and_its_first_stopped_fret_is_six() -> None:
    assert OPEN_G.midi(5, 0) == 67
    assert OPEN_G.midi(5, 6) == 68
    assert OPEN_G.midi(5, 7) == 69
    assert OPEN_G.midi(5, FRETS) == 84
    for fret in range(1, FIFTH_NUT + 1):
        with pytest.raises(BadRoutine, match="accepted are 0 and 6 to 22"):
            OPEN_G.midi(5, fret)


@pytest.mark.parametrize(("string", "fret"), [(1, 23), (1, -1), (5, 23), (5, -1)])
def test_a_fret_off_the_neck_is_told(string: int, fret: int) -> None:
    with pytest.raises(BadRoutine, match=f"no fret {fret} on string {string}"):
        OPEN_G.midi(string, fret)


@pytest.mark.parametrize("string", [0, 6, -1])
def test_there_are_five_strings(string: int) -> None:
    with pytest.raises(BadRoutine, match="accepted are 1 to 5"):
        OPEN_G.midi(string, 0)


def test_where_c5_and_the_drone_lie_in_open_g() -> None:
    assert places(OPEN_G, 72) == "1/10 2/13 3/17 4/22 5/10"
    assert places(OPEN_G, 67) == "1/5 2/8 3/12 4/17 5/0"
    assert places(OPEN_G, 60) == "2/1 3/5 4/10"


@pytest.mark.parametrize(("capo", "fifth"), [(2, "A4"), (3, "Bb4"), (4, "B4")])
def test_g_shapes_with_a_capo_and_the_fifth_raised_as_is_normal(capo: int, fifth: str) -> None:
    neck = Neck(capo=capo)
    assert note_name(neck.open_midi(5)) == fifth
    assert [neck.open_midi(string) for string in (4, 3, 2, 1)] == [m + capo for m in (50, 55, 59, 62)]
    # Tab is read as if there were no capo: the same number sounds higher by the capo.
    assert neck.midi(2, 1) == OPEN_G.midi(2, 1) + capo
    assert neck.midi(1, 22 - capo) == 84
    with pytest.raises(BadRoutine, match=f"with capo {capo}"):
        neck.midi(1, 23 - capo)


def test_by_its_peg_all_frets_of_the_fifth_string_move() -> None:
    neck = Neck(fifth=FifthString(69, "peg"))
    assert [neck.midi(5, fret) for fret in (0, 6, 7, 12)] == [69, 70, 71, 76]


def test_by_a_spike_the_stopped_pitches_stay_and_the_frets_up_to_it_are_gone() -> None:
    neck = Neck(fifth=FifthString(69, "spike"))
    assert [neck.midi(5, fret) for fret in (0, 8, 12)] == [69, 70, 74]
    for fret in (6, 7):
        with pytest.raises(BadRoutine, match="accepted are 0 and 8 to 22"):
            neck.midi(5, fret)
    assert "5/0" in places(neck, 69)
    assert "5/7" not in places(neck, 69)


def test_under_a_capo_a_spiked_fifth_string_keeps_the_shape_and_a_wound_one_does_not() -> None:
    spiked = Neck(capo=2, fifth=FifthString(69, "spike"))
    wound = Neck(capo=2, fifth=FifthString(69, "peg"))
    assert spiked.midi(5, 9) == OPEN_G.midi(5, 9) + 2
    assert wound.midi(5, 9) == OPEN_G.midi(5, 9) + 4
    # The first real frets that can be stopped are 8 above the spike and 6 above the nut.
    assert (spiked.midi(5, 6), wound.midi(5, 4)) == (70, 70)
    for neck, fret in ((spiked, 5), (wound, 3)):
        with pytest.raises(BadRoutine, match=f"no fret {fret} on string 5"):
            neck.midi(5, fret)


def test_a_capo_leaves_a_plain_fifth_string_alone_where_that_is_said() -> None:
    neck = Neck(capo=2, fifth=FifthString(67, "plain"))
    assert neck.open_midi(5) == 67
    assert neck.midi(5, 10) == 67 + 7


def test_a_capo_above_the_short_string_still_leaves_tab_fret_one_the_first() -> None:
    wound = Neck(capo=7, fifth=FifthString(74, "peg"))
    assert wound.midi(5, 1) == 74 + 3
    with pytest.raises(BadRoutine, match="accepted are 0 and 1 to 15"):
        wound.midi(5, 16)


def test_the_fifth_string_of_a_neck_is_known_without_being_said() -> None:
    assert OPEN_G.fifth_string == FifthString(67, "plain")
    assert Neck(capo=2).fifth_string == FifthString(69, "spike")
    assert Neck(fifth=FifthString(66, "peg")).fifth_string == FifthString(66, "peg")


@pytest.mark.parametrize(
    ("fifth", "accepted"),
    [
        (FifthString(67, "spike"), "68 to 84"),
        (FifthString(66, "spike"), "68 to 84"),
        (FifthString(85, "spike"), "68 to 84"),
        (FifthString(69, "plain"), "67 to 67"),
        (FifthString(61, "peg"), "62 to 79"),
        (FifthString(80, "peg"), "62 to 79"),
        (FifthString(69, "glue"), "peg spike plain"),  # type: ignore[arg-type]
    ],
)
def test_a_fifth_string_that_cannot_be_is_told(fifth: FifthString, accepted: str) -> None:
    with pytest.raises(BadRoutine, match=accepted):
        Neck(fifth=fifth)


def test_a_bad_tuning_or_capo_is_told() -> None:
    with pytest.raises(BadRoutine, match="'GDGBD': accepted are gDGBD"):
        Neck("GDGBD")
    for capo in (-1, 13):
        with pytest.raises(BadRoutine, match=f"capo at fret {capo}"):
            Neck(capo=capo)


@pytest.mark.parametrize(
    ("seven", "listed"),
    [
        (0, ["2/1-2/0", "3/5-3/4", "1/10-1/9"]),
        (5, ["1/3-1/2", "4/3-4/2"]),
        (10, ["3/3-3/2", "1/8-1/7"]),
        (7, ["1/5-1/4", "3/0-4/4", "5/0-1/4"]),
        (2, ["2/3-2/2", "3/7-3/6"]),
        (3, ["2/4-2/3", "1/1-1/0"]),
    ],
)
def test_where_the_falls_lie_in_open_g(seven: int, listed: list[str]) -> None:
    assert set(listed) <= set(falls(OPEN_G, seven))


def test_all_falls_of_c_and_of_g_in_open_g() -> None:
    assert falls(OPEN_G, 0) == ["1/10-1/9", "2/1-2/0", "3/5-3/4", "4/10-4/9", "5/10-5/9"]
    assert falls(OPEN_G, 7) == ["1/5-1/4", "2/8-2/7", "3/0-4/4", "3/12-3/11", "4/5-4/4", "5/0-1/4"]


def test_a_fall_below_the_lowest_string_is_left_out() -> None:
    assert "4/0" not in {str(here) for here, _ in OPEN_G.moves(2, -1)}


def test_a_rise_may_end_above_the_top_fret_asked_for_but_not_above_the_neck() -> None:
    ends = {str(here): str(there) for here, there in OPEN_G.moves(11, 1, top_fret=12)}
    assert ends["2/12"] == "2/13"
    assert "5/7" not in {str(here) for here, _ in OPEN_G.moves(0, 1)} | set(ends)
    assert "1/22" not in {str(here) for here, _ in OPEN_G.moves(0, 1)}


@given(necks, st.integers(40, 90))
def test_every_place_of_a_pitch_sounds_it_and_no_place_is_left_out(neck: Neck, midi: int) -> None:
    found = neck.places(midi)
    assert all(neck.midi(place.string, place.fret) == midi for place in found)
    everywhere = set()
    for string in (1, 2, 3, 4, 5):
        for fret in range(FRETS + 1):
            try:
                if neck.midi(string, fret) == midi:
                    everywhere.add(Place(string, fret))
            except BadRoutine:
                continue
    assert set(found) == everywhere
    assert len(found) == len(everywhere)


@given(necks, st.integers(0, 11), st.sampled_from([-2, -1, 1]))
def test_a_move_goes_just_so_far_and_keeps_to_its_string_where_it_can(
    neck: Neck, pc: int, half_steps: int
) -> None:
    for here, there in neck.moves(pc, half_steps):
        left, reached = neck.midi(here.string, here.fret), neck.midi(there.string, there.fret)
        assert left % 12 == pc
        assert reached - left == half_steps
        if there.string != here.string:
            assert all(place.string != here.string for place in neck.places(reached))


def test_a_neck_can_be_a_key_and_cannot_be_changed() -> None:
    assert len({Neck(), Neck("gDGBD"), Neck(capo=2)}) == 2
    with pytest.raises(AttributeError):
        OPEN_G.capo = 2  # type: ignore[misc]
