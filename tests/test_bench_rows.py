"""The rows of their own: what they play is what they say, what they do to a sound, and what they count."""

from __future__ import annotations

import os
import subprocess
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from feedback.played import PlayedNote
from listener.notes import NoteEvent
from tests.bench import cases, cost
from tests.bench.__main__ import main
from tests.bench.changes import after_bump, at_level, at_rate, disturbed, disturbed_alone
from tests.bench.counts import (
    Count,
    false_a_minute,
    heard_again,
    path_followed,
    unwanted_heard,
    watched_heard,
)
from tests.bench.hearers import heard_by_peer
from tests.bench.note_scores import Played, matched
from tests.bench.passages import Passage
from tests.bench.rows import DISTURBED_BY, ROWS, rows_named
from tests.bench.sounds import SOUNDS
from tests.bench.takes import Take
from tests.in_turn import in_turn
from tests.plucks import ROLL, plucked

SEEDS = st.integers(0, 10_000)


def watched(passage: Passage) -> list[tuple[Played, PlayedNote]]:
    performance = passage.performance
    both = zip(passage.truth(performance), performance.notes, strict=True)
    return [(told, note) for told, note in both if told.watched]


def ringing(passage: Passage, at_sec: float) -> list[PlayedNote]:
    notes = passage.performance.notes
    return [n for n in notes if n.onset_sec < at_sec < n.onset_sec + n.duration_sec - 1e-9]


def event(onset_sec: float, midi: int, path: tuple[tuple[float, float], ...] = ()) -> NoteEvent:
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=0.0,
        level_db=-20.0,
        confidence=1.0,
        heard_sec=onset_sec + 0.04,
        settled_sec=onset_sec + 0.1,
        path=path,
    )


def take_of(*truth: Played, sec: float = 6.0) -> Take:
    return Take(nps=8.0, truth=truth, sound=np.zeros(round(sec * 1000), np.float32), rate=1000)


def counted(count: Count, take: Take, events: list[NoteEvent]) -> tuple[float, float]:
    played = [(n.onset_sec, n.midi) for n in take.truth]
    return count.of(take, events, dict(matched(played, [(e.onset_sec, e.midi) for e in events], 0.05)))


@in_turn("name", [name for name in ROWS if not name.startswith("alone")])
def test_every_row_can_be_played_on_five_strings(name: str) -> None:
    for seed in (0, 1):
        passage = ROWS[name].play(seed)
        notes = passage.performance.notes
        assert len(notes) >= 24
        assert notes == ROWS[name].play(seed).performance.notes
        for string in range(1, 6):
            line = [n for n in notes if n.string == string]
            for note, after in pairwise(line):
                assert note.onset_sec + note.duration_sec <= after.onset_sec + 1e-9
        about = watched(passage)
        assert len(about) == len(passage.watched)
        assert (len(about) > 3) == any(count.of is watched_heard for count in ROWS[name].counts)


def test_rows_say_what_they_are_and_where_they_can_be_heard() -> None:
    for row in ROWS.values():
        assert row.meaning
        assert "\n" not in row.meaning
        assert set(row.sounds) <= set(SOUNDS)
        assert len({count.label for count in row.counts}) == len(row.counts)
    assert ROWS["choke-50"].sounds == ("simulated",)
    assert ROWS["choke-200"].sounds == tuple(SOUNDS)


def test_rows_are_named_or_begun() -> None:
    assert rows_named(["drone", "level", "drone"]) == ["drone", "level-soft", "level-full", "level-clipped"]
    assert rows_named(["alone-click"]) == ["alone-click-30", "alone-click-20", "alone-click-12"]
    assert rows_named([]) == []
    with pytest.raises(ValueError, match="no row 'dron': accepted are plain, fall-C-B"):
        rows_named(["dron"])


@pytest.mark.parametrize("name", list(cases.FALLS))
@settings(max_examples=20, deadline=None)
@given(seed=SEEDS)
def test_a_seven_rings_on_another_string_where_the_half_step_below_is_struck(name: str, seed: int) -> None:
    passage = cases.fall(seed, name=name)
    for told, note in watched(passage):
        sevens = [n for n in ringing(passage, note.onset_sec) if n.midi == note.midi + 1]
        assert sevens
        assert all(n.string != note.string for n in sevens)
        assert told.unwanted_midi == note.midi + 1


@settings(max_examples=20, deadline=None)
@given(seed=SEEDS)
def test_hammers_repeats_unisons_and_octaves_are_what_they_say(seed: int) -> None:
    for _, note in watched(cases.hammered_seven(seed)):
        assert (note.how, note.picked) == ("hammer", False)
    again = cases.picked_again(seed)
    for _, note in watched(again):
        before = [n for n in again.performance.notes if n.onset_sec < note.onset_sec][-1]
        assert (before.string, before.midi) == (note.string, note.midi)
    for name in cases.UNISONS:
        passage = cases.unison(seed, name=name)
        for _, note in watched(passage):
            others = [n for n in ringing(passage, note.onset_sec) if n.midi == note.midi]
            assert any(n.string != note.string for n in others)
    for make in (cases.octave_roll, cases.octave_pinch):
        passage = make(seed)
        for _, note in watched(passage):
            below = [n for n in ringing(passage, note.onset_sec + 0.012) if n.midi == note.midi - 12]
            assert below


def test_the_drone_is_every_second_eighth_and_the_top_of_the_neck_is_reached() -> None:
    for seed in range(6):
        drones = [n.onset_sec for n in cases.drone(seed).performance.notes if (n.string, n.fret) == (5, 0)]
        assert len(drones) == 16
        top = watched(cases.neck_top(seed))
        assert max(note.midi for _, note in top) == 84
        assert all(12 <= note.fret <= 22 for _, note in top)


@pytest.mark.parametrize("cents", [50.0, 100.0, 150.0, 200.0])
def test_chokes_rise_by_their_cents_from_the_pitch_that_was_struck(cents: float) -> None:
    passage = cases.choked(3, cents=cents)
    for told, note in watched(passage):
        assert told.rise_cents == pytest.approx(cents)
        assert told.midi == note.from_midi == note.midi - np.ceil(cents / 100.0)
        assert note.arrive_sec is not None
        assert note.arrive_sec < told.ends_sec


def test_instruments_are_off_by_what_the_row_says() -> None:
    assert cases.detuned(1, cents=-40.0).tuning_cents == -40.0
    off = [cases.one_string_off(seed, cents=15.0).string_cents for seed in range(12)]
    assert all(sorted(map(abs, cents)) == [0.0, 0.0, 0.0, 0.0, 15.0] for cents in off)
    assert {sum(cents) for cents in off} == {-15.0, 15.0}
    raised = cases.roll(1, nps=8.0, capo=3).performance
    assert raised.open_midi[1] == 65
    assert min(n.midi for n in raised.notes) >= 53


def test_the_simulated_instrument_sounds_as_far_off_as_it_is_told() -> None:
    alone = cases.drone(0).performance
    note = replace(alone.notes[0], onset_sec=0.2, string=1, fret=7, midi=69, duration_sec=1.5)
    passage = Passage(
        performance=replace(alone, notes=(note,)),
        watched={},
        tuning_cents=40.0,
        string_cents=(-15.0, 0.0, 0.0, 0.0, 0.0),
    )
    for name in ("simulated", *(["fluid"] if _font_here() else [])):
        straight = replace(passage, tuning_cents=0.0, string_cents=(0.0,) * 5)
        by = _cents(SOUNDS[name].take(passage)) - _cents(SOUNDS[name].take(straight))
        assert by == pytest.approx(25.0, abs=2.0), name


def _font_here() -> bool:
    try:
        SOUNDS["fluid"].check()
    except OSError:
        return False
    return True


def _cents(take: Take) -> float:
    """Of the second partial of A4, against 880 Hz."""
    piece = take.sound[round(0.3 * take.rate) : round(1.3 * take.rate)].astype(float)
    power = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), 1 << 19))
    hz = np.fft.rfftfreq(1 << 19, 1.0 / take.rate)
    near = (hz > 830.0) & (hz < 930.0)
    return float(1200.0 * np.log2(hz[near][np.argmax(power[near])] / 880.0))


def test_levels_and_rates_are_those_asked_for() -> None:
    take = replace(take_of(), sound=plucked(44_100, ROLL, duration_sec=1.6), rate=44_100)
    for dbfs in (-30.0, -0.3):
        assert np.abs(at_level(take, 0, peak_dbfs=dbfs).sound).max() == pytest.approx(
            10.0 ** (dbfs / 20.0), abs=2e-5
        )
    clipped = at_level(take, 0, peak_dbfs=3.0).sound
    assert clipped.max() <= 1.0
    assert np.mean(np.abs(clipped) > 0.999) > 0.0001
    other = at_rate(take, 0, rate=16_000)
    assert (other.rate, len(other.sound)) == (16_000, round(1.6 * 16_000))
    assert at_rate(take, 0, rate=44_100) is take
    silent = replace(take, sound=np.zeros(100, np.float32))
    assert not at_level(silent, 0, peak_dbfs=-30.0).sound.any()


@pytest.mark.parametrize("name", DISTURBED_BY)
def test_disturbances_lie_at_their_level_over_what_is_played(name: str) -> None:
    take = replace(take_of(), sound=plucked(44_100, ROLL, duration_sec=1.6), rate=44_100)
    added = disturbed(take, 5, by=name, under_db=12.0).sound - take.sound
    ratio = np.abs(added).max() / np.abs(take.sound).max()
    assert 20.0 * np.log10(ratio) == pytest.approx(-12.0, abs=0.05)
    silent = replace(take, sound=np.zeros(44_100, np.float32))
    alone = disturbed_alone(silent, 5, by=name, peak_dbfs=-20.0)
    assert np.abs(alone.sound).max() == pytest.approx(0.1, rel=1e-3)
    assert (alone.sound == disturbed_alone(silent, 5, by=name, peak_dbfs=-20.0).sound).all()


def test_watched_and_unwanted_notes_are_counted() -> None:
    take = take_of(
        Played(onset_sec=1.0, midi=60),
        Played(onset_sec=2.0, midi=59, watched=True, unwanted_midi=60),
        Played(onset_sec=3.0, midi=59, watched=True, unwanted_midi=60),
        Played(onset_sec=3.02, midi=60),
    )
    events = [event(1.0, 60), event(2.0, 59), event(2.05, 60), event(3.02, 60), event(4.0, 61)]
    falls, again = Count(label="falls", of=watched_heard), Count(label="again", of=unwanted_heard)
    assert counted(falls, take, events) == (1, 2)
    # the seven that was struck again at 3.02 is a note, the one at 2.05 is none
    assert counted(again, take, events) == (1, 2)
    assert counted(again, take, [event(2.051, 60)]) == (0, 2)
    stray = Count(label="false", of=false_a_minute, a_minute=True)
    assert counted(stray, take, events) == (2, pytest.approx(0.1))
    assert stray.told((2, 0.1)) == "20.0/min"
    assert falls.told((1, 2)) == "0.500 (1 of 2)"
    assert falls.told((0, 0)) == "-"


def test_chokes_are_counted_once_and_followed_to_their_end() -> None:
    take = take_of(
        Played(onset_sec=1.0, midi=64, how="choke", watched=True, rise_cents=200.0, ends_sec=2.0),
        Played(onset_sec=1.5, midi=55),
    )
    again, followed = Count(label="again", of=heard_again), Count(label="path", of=path_followed)
    right = event(1.0, 64, ((1.0, 0.0), (1.1, 171.0)))
    assert counted(again, take, [right, event(1.5, 55)]) == (0, 1)
    assert counted(followed, take, [right]) == (1, 1)
    assert counted(followed, take, [replace(right, path=((1.0, 0.0), (1.1, 169.0)))]) == (0, 1)
    assert counted(followed, take, [event(1.0, 64)]) == (0, 1)
    assert counted(followed, take, []) == (0, 1)
    for midi, onset_sec, more in ((66, 1.3, 1), (65, 1.1, 1), (67, 1.3, 0), (63, 1.3, 0), (66, 2.0, 0)):
        assert counted(again, take, [right, event(onset_sec, midi)]) == (more, 1)


def test_the_peer_hears_lone_notes() -> None:
    take = replace(take_of(), sound=plucked(44_100, [(0.4, 62, 0.3)], duration_sec=1.0), rate=44_100)
    assert [(e.midi, e.onset_sec) for e in heard_by_peer(take)] == [(62, pytest.approx(0.4, abs=0.02))]


def test_the_bench_prints_a_row_and_a_general_table(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--rows", "fall-C-B", "alone-taps-30", "--sounds", "simulated", "--seeds", "1"]
    assert main(["notes", *words, "--processes", "1"]) == 0
    told = capsys.readouterr().out.splitlines()
    assert told[0] == "fall-C-B: B struck half a step below the C that still rings"
    assert told[1].startswith("  simulated     32  P ")
    assert "aubio" in told[1]
    assert "of 8), aubio" in told[1]
    assert told[2].startswith("alone-taps-30: taps alone")
    assert "/min, aubio" in told[3]
    assert "F " not in told[3]


@pytest.mark.parametrize(
    "words", [["--rows", "dron"], ["--seeds", "0"], ["--processes", "0"], ["--takes", "no-such-folder"]]
)
def test_what_is_wrong_is_one_line(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["notes", *words]) in (1, 2)
    assert capsys.readouterr().err.count("\n") == 1


def test_cost_runs_where_every_library_has_one_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    ran = []

    def noted(command: list[str], *, env: dict[str, str], check: bool) -> SimpleNamespace:
        ran.append((command, env))
        return SimpleNamespace(returncode=7)

    monkeypatch.setattr(subprocess, "run", noted)
    assert main(["cost", "--sec", "2", "--hour", "a.wav"]) == 7
    ((command, env),) = ran
    assert command[1:5] == ["-m", "tests.bench", "cost", "--sec"]
    assert command[-3:] == ["--hour", "--", "a.wav"]
    assert all(env[name] == "1" for name in cost.ONE_THREAD)
    assert env["PATH"] == os.environ["PATH"]
    assert main(["cost", "--sec", "nan"]) == 2
    assert main(["cost", "--hop", "0"]) == 2


def test_takes_of_a_folder_are_scored(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    soundfile.write(tmp_path / "one.wav", plucked(44_100, ROLL, duration_sec=1.6), 44_100)
    notes = ", ".join(f'{{"onset": {sec}, "midi": {midi}, "how": "pick"}}' for sec, midi, _ in ROLL)
    (tmp_path / "one.json").write_text(f'{{"nps": 8, "notes": [{notes}]}}')
    assert main(["notes", "--takes", str(tmp_path)]) == 0
    told = capsys.readouterr().out.splitlines()
    assert told[0] == tmp_path.name
    assert [line.split()[0] for line in told[1:]] == ["8/s", "all", "aubio", "all", "aubio"]
    (tmp_path / "one.json").write_text('{"nps": 8}')
    assert main(["notes", "--takes", str(tmp_path)]) == 2


def test_a_bump_is_so_much_louder_than_what_follows_and_over_before_it() -> None:
    played = replace(take_of(), sound=plucked(44_100, ROLL, duration_sec=1.6), rate=44_100)
    bumped = after_bump(played, 3, over_db=30.0)
    begins = round(0.2 * played.rate)  # the roll begins at 0.3 s
    assert np.abs(bumped.sound[:begins]).max() == pytest.approx(1.0, abs=0.04)
    assert np.abs(bumped.sound[begins:]).max() == pytest.approx(10.0**-1.5, rel=0.01)
    assert bumped.truth == played.truth
