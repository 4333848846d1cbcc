"""The backing: which notes bass and chop play, and where, worked by hand in small changes."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.backing import BASS_HIGHEST, BASS_LOWEST, BassNote, Chop, backing, turnaround
from feedback.clicking import strokes
from feedback.session import TurnPlan, after_count_in
from feedback.voicing import CHOP_HIGHEST, CHOP_LOWEST, voiced
from routines.chords import KINDS, Chord
from routines.library import load
from routines.lick import Lick, quarter_sec
from routines.pitch import Tone, note_name, usual_tone
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.scores import lick

TEMPO = 90.0
ROOTS = [f"{letter}{sign}" for letter in "CDEFGAB" for sign in ("", "#", "b")]


def _lick(changes: str, meter: str = "2/2", *, pickup_eighths: int = 0, key: str = "G") -> Lick:
    text = "3/0 " * pickup_eighths + "| 3/0"
    return replace(lick(text, changes, meter=meter, pickup_eighths=pickup_eighths), key=key)


def _plan(of: Lick, passes: int = 1, rest_bars: int = 1) -> TurnPlan:
    return after_count_in(of, TEMPO, passes=passes, rest_bars=rest_bars)


def _places(plan: TurnPlan) -> dict[int, list[BassNote | Chop]]:
    """What begins at each quarter from bar 1 of the first pass on."""
    laid: dict[int, list[BassNote | Chop]] = {}
    for one in backing(plan):
        place = (one.sec - plan.first_start_sec) / quarter_sec(plan.tempo_half_bpm)
        assert place == pytest.approx(round(place), abs=1e-6)
        laid.setdefault(round(place), []).append(one)
    return laid


def _drawn(plan: TurnPlan) -> str:
    """A word for each quarter, bars parted by strokes: A1 a bass note, x a chop, o a dead one, . neither."""
    laid = _places(plan)
    words = []
    for place in range(max(laid) + 1):
        if place and place % round(plan.lick.quarters_a_bar) == 0:
            words.append("|")
        signs = {
            note_name(one.midi) if isinstance(one, BassNote) else "x" if one.midis else "o"
            for one in laid.get(place, [])
        }
        words.append("+".join(sorted(signs)) or ".")
    return " ".join(words)


def _chopped(plan: TurnPlan) -> list[str]:
    """The notes of each chop, in order."""
    return [
        " ".join(str(usual_tone(m)) for m in sorted(one.midis, key=lambda m: m % 12))
        for one in backing(plan)
        if isinstance(one, Chop)
    ]


def _farthest(before: tuple[int, ...], after: tuple[int, ...]) -> int:
    """Half steps that the voice goes that goes farthest."""
    return max(
        *(min(abs(a - b) for b in after) for a in before), *(min(abs(a - b) for a in before) for b in after)
    )


class TestWorked:
    """Bars worked by hand; the last word is the ending."""

    @in_turn(
        ("changes", "meter", "drawn"),
        [
            ("A7 D", "2/2", "A1 x E1 x | D2 x A1 x | D2+x"),
            ("G (C7 F)", "2/2", "G1 x D2 x | C2 x F1 x | F1+x"),
            # On the second half note the fifth, where the chord's root stays; on one the root again.
            ("(C D7) D7 (G G7) C", "2/2", "C2 x D2 x | D2 x A1 x | G1 x D2 x | C2 x G1 x | C2+x"),
            ("(G C D G)", "2/2", "G1 x D2 x | G1+x"),
            ("Am Bdim", "2/2", "A1 x E1 x | B1 x F1 x | B1+x"),
            ("Eaug Bb", "2/2", "E1 x C2 x | Bb1 x F1 x | Bb1+x"),
            ("A7 . D .", "3/4", "A1 x x | E1 x x | D2 x x | A1 x x | D2+x"),
            ("G . .", "3/4", "G1 x x | D2 x x | G1 x x | G1+x"),
            # A new root inside the bar has its note there; it is the root again on no account but its turn.
            ("(G G C) C", "3/4", "G1 x C2+x | G1 x x | C2+x"),
            ("(G D7 .) G", "3/4", "G1 D2+x x | G1 x x | G1+x"),
            ("N.C. D7 G", "2/2", ". o . o | D2 x A1 x | G1 x D2 x | G1+x"),
            ("G N.C.", "3/4", "G1 x x | . o o | G1+x"),
            ("(G N.C.) G", "2/2", "G1 x . o | G1 x D2 x | G1+x"),
            ("N.C.", "2/2", ". o . o"),
        ],
    )
    def test_a_pass(self, changes: str, meter: str, drawn: str) -> None:
        assert _drawn(_plan(_lick(changes, meter))) == drawn

    @in_turn(
        ("changes", "meter", "rest_bars", "drawn"),
        [
            ("A7 D", "2/2", 0, "A1 x E1 x | D2 x A1 x | A1 x E1 x | D2 x A1 x | D2+x"),
            ("A7 D", "2/2", 1, "A1 x E1 x | D2 x A1 x | D2 x E1 x | A1 x E1 x | D2 x A1 x | D2+x"),
            # The seventh's third leads up to the root, here G# to A; over B7 it would be lower than E1.
            ("A7", "2/2", 2, "A1 x E1 x | A1 x E1 x | E1 x G#1 x | A1 x E1 x | A1+x"),
            ("E7", "2/2", 2, "E1 x B1 x | E1 x B1 x | B1 x F#1 x | E1 x B1 x | E1+x"),
            ("G D7", "2/2", 1, "G1 x D2 x | D2 x A1 x | D2 x F#1 x | G1 x D2 x | D2 x A1 x | G1+x"),
            ("G D", "3/4", 1, "G1 x x | D2 x x | A1 x x | G1 x x | D2 x x | D2+x"),
            # Each pass begins on the root, though it was the root's turn in the bar before, too.
            ("G . .", "3/4", 0, "G1 x x | D2 x x | G1 x x | G1 x x | D2 x x | G1 x x | G1+x"),
            ("G", "3/4", 2, "G1 x x | D2 x x | D2 x x | G1 x x | G1+x"),
            ("N.C.", "2/2", 1, ". o . o | . o . o | . o . o"),
        ],
    )
    def test_rest_bars_lead_back(self, changes: str, meter: str, rest_bars: int, drawn: str) -> None:
        key = "G" if changes == "N.C." else changes[0]
        assert _drawn(_plan(_lick(changes, meter, key=key), 2, rest_bars)) == drawn

    def test_the_chord_of_a_pickup_is_not_played(self) -> None:
        whole, plan = _plan(_lick("C G")), _plan(_lick("C G", pickup_eighths=3))
        assert _drawn(plan) == _drawn(whole) == "C2 x G1 x | G1 x D2 x | G1+x"
        by_name = _plan(load("first-log-up"), 2)
        assert [span.symbol for span in by_name.lick.chords] == ["G7", "C"]
        assert _drawn(by_name).startswith("C2 x G1 x | C2 x G1 x | C2 x G1 x | C2 x")

    def test_nothing_plays_while_it_is_counted_in(self) -> None:
        for count_in_sec in (0.0, 0.7, 5.0):
            plan = TurnPlan(lick=_lick("G"), tempo_half_bpm=TEMPO, first_start_sec=count_in_sec)
            assert backing(plan)[0].sec == count_in_sec

    def test_chops_have_the_chord_of_their_place(self) -> None:
        found = _chopped(_plan(_lick("(C D7) (G C D G)"), 2))
        assert found[:4] == ["C E G", "C D F# A", "C E G", "D G B"]
        assert found[4:6] == ["D G B", "D F G B"]
        assert found[6:10] == found[:4]
        assert found[10:] == ["D G B"]
        waltz = _chopped(_plan(_lick("(A7 D .) N.C. Gm", "3/4")))
        assert waltz == ["D F# A", "D F# A", "", "", "D G Bb", "D G Bb", "D G Bb"]

    def test_a_note_of_the_bass_rings_to_the_next_or_to_where_no_chord_is(self) -> None:
        quarter = quarter_sec(TEMPO)
        plan = _plan(_lick("G (C N.C.) N.C. G"))
        notes = [one for one in backing(plan) if isinstance(one, BassNote)]
        lengths = [2, 2, 2, 2, 2, 0.5 / quarter]
        assert [one.duration_sec / quarter for one in notes] == pytest.approx(lengths)
        waltz = [one for one in backing(_plan(_lick("G (G N.C. G)", "3/4"))) if isinstance(one, BassNote)]
        assert [one.duration_sec / quarter for one in waltz] == pytest.approx([3, 1, 1, 0.5 / quarter])

    def test_the_ending(self) -> None:
        plan = _plan(_lick("D7 G"), 2)
        bass, chop = backing(plan)[-2:]
        assert isinstance(bass, BassNote)
        assert isinstance(chop, Chop)
        assert bass.sec == chop.sec == pytest.approx(plan.starts_sec[-1] + 2 * plan.bar_sec)
        assert bass.sec + bass.duration_sec == pytest.approx(plan.end_sec)
        assert chop.sec + chop.rings_sec == pytest.approx(plan.end_sec)
        assert sum(one.rings_sec > 0.0 for one in backing(plan) if isinstance(one, Chop)) == 1

    @pytest.mark.parametrize(
        ("changes", "key", "ends"),
        [
            ("D7 G", "G", "D G B"),
            ("G D7", "G", "D G B"),
            ("A7 D7", "Gm", "D G Bb"),
            ("C G7", "G", "D F G B"),
            ("G Em", "G", "E G B"),
        ],
    )
    def test_a_seventh_that_leads_home_ends_at_home(self, changes: str, key: str, ends: str) -> None:
        assert _chopped(_plan(_lick(changes, key=key)))[-1] == ends


class TestTurnaround:
    @in_turn(
        ("changes", "meter", "bars", "symbols"),
        [
            ("A7 D", "2/2", 1, ["D D E7 E7"]),
            ("A7 D", "2/2", 2, ["D D D D", "E7 E7 E7 E7"]),
            ("A7 D", "2/2", 3, ["D D D D", "D D D D", "E7 E7 E7 E7"]),
            ("A7 D", "2/2", 0, []),
            ("D7 A7", "2/2", 1, ["A7 A7 A7 A7"]),
            ("E7 A", "3/4", 1, ["B7 B7 B7"]),
            ("E7 A", "3/4", 2, ["A A A", "B7 B7 B7"]),
            ("Gm", "2/2", 1, ["Gm Gm D7 D7"]),
            ("Bdim", "2/2", 1, ["Bdim Bdim F#7 F#7"]),
            ("F#7 B", "2/2", 1, ["B B C#7 C#7"]),
            ("N.C. Bb N.C.", "2/2", 1, ["Bb Bb F7 F7"]),
        ],
    )
    def test_worked(self, changes: str, meter: str, bars: int, symbols: list[str]) -> None:
        found = turnaround(_lick(changes, meter), bars)
        assert [" ".join(chord.symbol if chord else "-" for chord in bar) for bar in found] == symbols

    def test_without_chords(self) -> None:
        assert turnaround(_lick("N.C."), 2) == ((None,) * 4,) * 2


class TestVoicing:
    def test_the_seven_falls_and_the_common_tones_stay(self) -> None:
        names = []
        before: tuple[int, ...] = ()
        for symbol in ("A7", "D", "A7"):
            before = voiced(Chord.parse(symbol), before)
            names.append(" ".join(note_name(m) for m in before))
        assert names == ["C#4 E4 G4 A4", "D4 F#4 A4", "C#4 E4 G4 A4"]

    def test_a_major_seventh_is_laid_without_a_rub_where_the_register_lets_it(self) -> None:
        laid = {root: voiced(Chord(usual_tone(root), "maj7")) for root in range(12)}
        assert [note_name(m) for m in laid[0]] == ["C4", "E4", "G4", "B4"]
        rubs = {root for root, midis in laid.items() if min(b - a for a, b in pairwise(midis)) < 2}
        assert rubs <= {5, 6, 7}

    @in_turn("kind", KINDS)
    def test_every_chord_is_laid_whole_within_the_register(self, kind: str) -> None:
        for root, before in product(ROOTS, ((), (55, 59, 62), (67, 71, 74, 76))):
            chord = Chord(Tone.parse(root), kind)
            tones = [tone.pitch_class for name, tone in chord.tones if kind != "9" or name != "fifth"]
            midis = voiced(chord, before)
            assert sorted(m % 12 for m in midis) == sorted(tones)
            assert list(midis) == sorted(midis)
            assert midis[0] >= CHOP_LOWEST
            assert midis[-1] <= CHOP_HIGHEST
            assert midis[-1] - midis[0] <= 14
            # Only a major seventh lies a half step beside another tone, its root.
            assert kind == "maj7" or min(b - a for a, b in pairwise(midis)) >= 2

    @pytest.mark.parametrize(("kinds", "most"), [(("", "m", "7", "m7"), 4), (tuple(KINDS), 5)])
    def test_no_voice_leaps(self, kinds: tuple[str, ...], most: int) -> None:
        chords = [Chord(usual_tone(root), kind) for root, kind in product(range(12), kinds)]
        farthest = max(_farthest(voiced(a), voiced(b, voiced(a))) for a, b in product(chords[::7], chords))
        assert farthest <= most

    @given(st.lists(st.tuples(st.sampled_from(ROOTS), st.sampled_from(list(KINDS))), min_size=2, max_size=12))
    @settings(max_examples=60, deadline=None)
    def test_none_wanders_off(self, symbols: list[tuple[str, str]]) -> None:
        before: tuple[int, ...] = ()
        for root, kind in symbols:
            midis = voiced(Chord(Tone.parse(root), kind), before)
            assert not before or _farthest(before, midis) <= 6
            assert abs(sum(midis) / len(midis) - 65.0) < 8.0
            before = midis

    def test_a_chord_that_stays_is_laid_as_before(self) -> None:
        for root, kind in product(ROOTS, KINDS):
            chord = Chord(Tone.parse(root), kind)
            assert voiced(chord, voiced(chord)) == voiced(chord)


class TestEveryLick:
    @pytest.mark.parametrize("changes", ["E7 A7 D7 G7 C7 F", "C Am F G7", "C Ab E"])
    def test_each_chop_is_laid_after_the_one_before(self, changes: str) -> None:
        before: tuple[int, ...] = ()
        expected = []
        for symbol in changes.split():
            before = voiced(Chord.parse(symbol), before)
            expected += [before, before]
        chops = [one.midis for one in backing(_plan(_lick(changes))) if isinstance(one, Chop)]
        assert chops[:-1] == expected

    @in_turn("of", few_licks(), ids=lambda one: one.id)
    @in_turn("rest_bars", [0, 1, 2])
    def test_every_pass_is_alike_and_all_lies_in_register(self, of: Lick, rest_bars: int) -> None:
        plan = after_count_in(of, 73.1, passes=3, rest_bars=rest_bars)
        laid = backing(plan)
        assert [one.sec for one in laid] == sorted(one.sec for one in laid)
        lasts = of.bars * plan.bar_sec
        played = [
            [
                (round(one.sec - start, 6), one.midi if isinstance(one, BassNote) else one.midis)
                for one in laid
                if -1e-6 < one.sec - start < lasts - 1e-6
            ]
            for start in plan.starts_sec
        ]
        assert played[0] == played[1] == played[2]
        basses = [one for one in laid if isinstance(one, BassNote)]
        assert {BASS_LOWEST <= one.midi <= BASS_HIGHEST for one in basses} == {True}
        assert max(abs(b.midi - a.midi) for a, b in pairwise(basses)) <= 11
        for one, after in pairwise(basses):
            assert one.sec + one.duration_sec == pytest.approx(after.sec)

    @pytest.mark.parametrize("name", ["pond-mans-lean", "log-deck-waltz", "first-log-up"])
    def test_it_keeps_the_time_of_the_click_to_the_last_bit(self, name: str) -> None:
        plan = after_count_in(load(name), 87.3)
        end_sec = plan.end_sec - 0.6
        chops = [one.sec for one in backing(plan) if isinstance(one, Chop) and one.sec < end_sec]
        clicked = [one.sec for one in strokes(plan, "chop") if one.sort == "chop"]
        assert chops == clicked

    @in_turn("kind", KINDS)
    def test_the_bass_has_root_and_fifth_of_every_chord(self, kind: str) -> None:
        for chord in (Chord(Tone.parse(root), kind) for root in ROOTS):
            one, two = [one for one in backing(_plan(_lick(chord.symbol))) if isinstance(one, BassNote)][:2]
            fifth = chord.tone("fifth")
            assert fifth is not None
            assert one.midi % 12 == chord.root.pitch_class
            assert two.midi % 12 == fifth.pitch_class
            assert BASS_LOWEST <= one.midi < BASS_LOWEST + 12
            assert two.midi < one.midi or two.midi - 12 < BASS_LOWEST


def test_where_the_strokes_lie_is_known_without_arrays() -> None:
    code = "import sys, feedback.backing; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
