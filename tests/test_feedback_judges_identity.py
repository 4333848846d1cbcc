"""A lick judged against itself is clean: generated licks, the library's licks, any tempo and start.

The same of a lick that is played with steady habits (a lean, a bounce), since habits are no faults. And one
slip touches the note that it befalls and no other.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.judges.whole import Judged
from routines.library import all_licks
from routines.lick import Lick
from routines.neck import Neck
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.scores import A, judged, lick

CHORDS = ("D7", "G", "G7", "C", "C7", "F", "A7", "D", "E7", "A", "Em", "B7", "Am", "N.C.")
TEMPOS = st.floats(40.0, 170.0)
STARTS = st.floats(0.5, 40.0)


@st.composite
def one_eighth(draw: st.DrawFn, before: str) -> str:
    """What begins in one eighth, after what began in the one before."""
    string, fret = draw(st.integers(1, 4)), draw(st.integers(0, 9))
    kind = draw(
        st.sampled_from(["single"] * 5 + ["drone", "rest", "pinch", "inside", "own", "choke", "slide"])
    )
    if kind == "drone":
        return "5/0"
    if kind == "rest":
        return "."
    if kind == "pinch":
        other = draw(st.sampled_from([s for s in (1, 2, 3, 4, 5) if s != string]))
        return f"{string}/{fret}+{other}/{0 if other == 5 else draw(st.integers(0, 5))}"
    if kind == "inside":
        return f"{string}/{fret}h{string}/{fret + draw(st.integers(1, 3))}"
    if kind == "choke":
        return f"{string}/{fret + 1}c{fret + 1 + draw(st.integers(1, 2))}"
    if kind == "slide":
        return f"{string}/{fret + 1}s{string}/{fret + 3}"
    if kind == "own" and len(before) == 3 and before[0] in "1234" and before[2] < "9":
        return f"h{before[0]}/{int(before[2]) + draw(st.integers(1, 2))}"
    return f"{string}/{fret}"


@st.composite
def licks(draw: st.DrawFn) -> Lick:
    """Licks that no hand would play, in all shapes that a tab can have."""
    meter = draw(st.sampled_from(["2/2", "3/4"]))
    a_bar = {"2/2": 8, "3/4": 6}[meter]
    bars = draw(st.integers(1, 3))
    pickup = draw(st.integers(0, 3))
    eighths: list[str] = []
    for _ in range(pickup + bars * a_bar):
        eighths.append(draw(one_eighth(eighths[-1] if eighths else "")))
    eighths[pickup] = "3/0"
    changes = " ".join(draw(st.sampled_from(CHORDS)) for _ in range(bars))
    capo = draw(st.sampled_from([0, 0, 2, 4]))
    return lick(" ".join(eighths), changes, meter=meter, pickup_eighths=pickup, neck=Neck(capo=capo))


def assert_flawless(found: Judged) -> None:
    outcome = found.outcome
    assert [note.verdict for note in outcome.notes] == ["landed"] * len(outcome.notes)
    assert outcome.extras == ()
    for seventh in outcome.sevenths:
        assert seventh.landed
        assert seventh.as_asked in (True, None)
        assert seventh.resolution not in ("hanging", "unclear")
    assert outcome.clean is True


@settings(max_examples=100, deadline=None)
@given(licks(), TEMPOS, STARTS)
def test_a_generated_lick_played_as_written_is_clean(of: Lick, tempo: float, start: float) -> None:
    found = judged(of, tempo_half_bpm=tempo, start_sec=start)
    assert_flawless(found)
    assert found.outcome.timing.spread_ms in (None, pytest.approx(0.0, abs=1e-6))


@settings(max_examples=40, deadline=None)
@given(licks(), st.integers(-40, 40), TEMPOS)
def test_a_lean_is_no_fault(of: Lick, lean_ms: int, tempo: float) -> None:
    assert_flawless(judged(of, f"all {lean_ms:+d}ms", tempo_half_bpm=tempo))


def test_every_lick_of_the_library_is_clean_against_itself() -> None:
    for of in all_licks():
        for tempo in (50.0, of.top_tempo_half_bpm):
            assert_flawless(judged(of, tempo_half_bpm=tempo))
        assert_flawless(judged(of, "all -24ms; even +15ms", tempo_half_bpm=72.0))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-10.0, 10.0), min_size=15, max_size=15))
def test_a_hand_s_unevenness_is_no_fault(late_ms: list[float]) -> None:
    found = judged(A, "each " + " ".join(f"{ms:.3f}" for ms in late_ms))
    assert {note.verdict for note in found.outcome.notes} == {"landed"}
    assert found.outcome.clean


class TestOneSlip:
    """Whatever note of the library is left out, changed or late: it is named, and every other one landed."""

    @in_turn("of", few_licks(), ids=lambda of: of.id)
    def test_left_out(self, of: Lick) -> None:
        for index, where in _places(of):
            found = judged(of, f"{where} out", tempo_half_bpm=100.0).outcome
            pinched = sum(n.onset_quarters == of.notes[index].onset_quarters for n in of.notes) > 1
            assert found.notes[index].verdict == ("unclear" if pinched else "missed"), where
            assert {n.verdict for n in found.notes if n.index != index} == {"landed"}, where
            assert found.extras == ()

    @in_turn("of", few_licks(), ids=lambda of: of.id)
    def test_another_pitch(self, of: Lick) -> None:
        for index, where in _places(of):
            found = judged(of, f"{where} ={of.notes[index].midi + 1}", tempo_half_bpm=100.0).outcome
            assert found.notes[index].verdict == "wrong", where
            assert {n.verdict for n in found.notes if n.index != index} == {"landed"}, where
            assert found.extras == ()

    @in_turn("of", few_licks(), ids=lambda of: of.id)
    @in_turn("eighths", [-0.4, 0.4])
    def test_off_its_place(self, of: Lick, eighths: float) -> None:
        for index, where in _places(of):
            found = judged(of, f"{where} {eighths:+g}e", tempo_half_bpm=100.0).outcome
            assert found.notes[index].verdict == ("late" if eighths > 0 else "early"), where
            assert {n.verdict for n in found.notes if n.index != index} == {"landed"}, where
            assert found.extras == ()


def _places(of: Lick) -> list[tuple[int, str]]:
    """Each target and its name, its string with it; but for two strings at one pitch, which are one sound."""
    names = []
    for index, note in enumerate(of.notes):
        bar, within = divmod(note.onset_quarters, of.quarters_a_bar)
        alike = [n for n in of.notes if (n.onset_quarters, n.midi) == (note.onset_quarters, note.midi)]
        if len(alike) == 1:
            names.append((index, f"b{int(bar) + 1}e{within * 2 + 1:g}@{note.string}"))
    return names
