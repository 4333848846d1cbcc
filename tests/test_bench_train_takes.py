"""Takes to learn from: the same seed gives the same take, and the truth is the truth of the sound."""

from __future__ import annotations

import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from feedback.played import Performance, PlayedNote, rung
from feedback.sound.banjo import Banjo
from routines.neck import Neck
from tests.bench import learn
from tests.bench.fluid import TEST_ONLY_FONTS
from tests.bench.train import fontnotes
from tests.bench.train.clock import Score
from tests.bench.train.disturbances import DISTURBANCES
from tests.bench.train.figures import FIGURES, drawn_playing
from tests.bench.train.hands import COUNTS_DB, GHOST_DB, PITCHES, RANGES, Hand, drawn_neck
from tests.bench.train.instruments import FAMILIES, MEMBRANE, drawn_instrument
from tests.bench.train.microphone import Colour, Microphone, filtered, recorded
from tests.bench.train.modal import Modal
from tests.bench.train.rolling import Player
from tests.bench.train.sounding import Assembled, Instrument, Simulated
from tests.bench.train.takes import RATES, TrueTake, drawn
from tests.in_turn import in_turn

RATE = 44_100
KINDS = ("simulated", "modal", "font")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library of notes that needs no FluidSynth: ten damped partials at each pitch."""
    path = tmp_path_factory.mktemp("notes")
    sec = np.arange(int(0.8 * RATE)) / RATE - fontnotes.LEAD_SEC
    notes = []
    for pitch in range(45, 89, 2):
        hz = 440.0 * 2.0 ** ((pitch - 69) / 12.0) * np.arange(1, 11)
        hz = hz[hz < 10_000.0]
        wave = np.sum(np.sin(2 * np.pi * hz[:, None] * sec) / np.arange(1, len(hz) + 1)[:, None], axis=0)
        wave *= np.where(sec < 0.0, 0.0, np.exp(-4.0 * sec))
        notes.append(32_000 * wave / np.abs(wave).max())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fontnotes, "_recorded", lambda program: np.round(notes).astype(np.int16))
        fontnotes.build(path)
    return path


@pytest.fixture(scope="module")
def takes(folder: Path) -> list[TrueTake]:
    return [drawn(seed, aside=seed % 2 == 1, notes_folder=folder) for seed in range(4)]


def _instruments(folder: Path, *, aside: bool, count: int) -> list[Instrument]:
    return [
        drawn_instrument(
            np.random.default_rng(seed), aside=aside, notes_folder=folder, tuning_cents=0.0, reach=1.0
        )
        for seed in range(count)
    ]


def _performance(notes: list[PlayedNote]) -> Performance:
    opens = {1: 62, 2: 59, 3: 55, 4: 50, 5: 67}
    return Performance(
        notes=rung(notes, []),
        lick_id="",
        tempo_half_bpm=100.0,
        start_sec=0.0,
        mistakes=(),
        seed=0,
        open_midi=opens,
    )


def _rise_db(sound: np.ndarray, rate: int, midi: float, before: float, after: float) -> float:
    """How much the two partials of a pitch that rise most do so, from the 40 ms before to those after."""
    hz = 440.0 * 2.0 ** ((midi - 69.0) / 12.0) * np.arange(1, 7)
    width = int(0.040 * rate)
    sec = np.arange(width) / rate
    turned = np.hanning(width) * np.exp(-2j * np.pi * hz[:, None] * sec)
    padded = np.concatenate([np.zeros(width), sound, np.zeros(2 * width)])
    first, last = (padded[width + int(at * rate) :][:width] for at in (before - 0.040, after))
    power = [np.abs(turned @ part) ** 2 + 1e-12 for part in (first, last)]
    return float(np.sort(10.0 * np.log10(power[1] / power[0]))[-2:].mean())


def test_same_seed_same_take_to_the_sample(folder: Path, takes: list[TrueTake]) -> None:
    for take in takes[1:3]:
        again = drawn(take.seed, aside=take.seed % 2 == 1, notes_folder=folder)
        np.testing.assert_array_equal(again.sound, take.sound)
        assert (again.notes, again.kind, again.rate) == (take.notes, take.kind, take.rate)
    assert takes[0].notes != takes[2].notes


def test_a_take_is_what_it_says(takes: list[TrueTake]) -> None:
    for take in takes:
        assert take.sound.dtype == np.float32
        assert take.rate in RATES
        assert 4.0 < len(take.sound) / take.rate <= 11.0
        assert 0.0 < np.abs(take.sound).max() <= 1.0
        assert list(take.notes) == sorted(take.notes, key=lambda n: (n.onset_sec, n.midi))
        for note in take.notes:
            assert 0.0 <= note.onset_sec < len(take.sound) / take.rate
            assert PITCHES[0] <= note.midi <= PITCHES[1]
            assert (note.level_db >= COUNTS_DB - 1e-6) or (not note.counts and note.level_db >= GHOST_DB[0])
            assert note.how != "choke" or note.arrive_sec is not None


def test_every_note_that_counts_is_in_the_sound(takes: list[TrueTake]) -> None:
    for take in takes:
        rises = []
        for note in take.notes:
            if note.counts:
                slid = note.how == "slide" and note.to_midi is None and note.arrive_sec is not None
                after = note.arrive_sec if slid and note.arrive_sec is not None else note.onset_sec
                midi = note.midi + take.tuning_cents / 100.0
                rises.append(_rise_db(take.sound, take.rate, midi, note.onset_sec, after))
        assert np.mean(np.array(rises) > 1.0) >= 0.95, (take.seed, take.kind)


@pytest.mark.parametrize("aside", [False, True])
def test_a_lone_note_begins_at_its_onset_and_has_its_level(folder: Path, aside: bool) -> None:
    for instrument in _instruments(folder, aside=aside, count=6):
        note = PlayedNote(onset_sec=0.2, midi=62, string=1, fret=0, level_db=-3.0)
        sound = instrument.sound(_performance([note]), RATE, RATE, np.random.default_rng(1)).astype(float)
        power = np.convolve(sound**2, np.ones(44) / 44, mode="valid")
        begins = int(np.argmax(power > power.max() * 10.0**-2.6)) / RATE
        assert abs(begins - 0.2) < 0.004, instrument.kind
        level = 10.0 * np.log10(np.mean(sound[int(0.2 * RATE) :][: int(0.07 * RATE)] ** 2))
        assert level == pytest.approx(-27.0, abs=3.0), instrument.kind


@pytest.mark.parametrize("aside", [False, True])
def test_striking_a_string_ends_what_rang_on_it(folder: Path, aside: bool) -> None:
    notes = [
        PlayedNote(onset_sec=0.1, midi=62, string=1, fret=0),
        PlayedNote(onset_sec=0.4, midi=67, string=1, fret=5, level_db=-6.0),
    ]
    count = int(0.13 * RATE)
    turned = np.hanning(count) * np.exp(-2j * np.pi * 293.66 * np.arange(count) / RATE)
    for instrument in _instruments(folder, aside=aside, count=6):
        rings, ended = (
            instrument.sound(_performance(played), RATE, RATE, np.random.default_rng(1)).astype(float)
            for played in (notes[:1], notes)
        )
        left = [abs(turned @ sound[int(0.43 * RATE) :][:count]) for sound in (rings, ended)]
        assert left[1] < 0.4 * left[0], instrument.kind


def test_what_is_aside_is_never_learned_from(folder: Path) -> None:
    learned = _instruments(folder, aside=False, count=60)
    aside = _instruments(folder, aside=True, count=60)
    assert {i.kind.split("-")[0] for i in learned} == {i.kind.split("-")[0] for i in aside} == set(KINDS)
    fonts = [{i.kind for i in part if i.kind.startswith("font")} for part in (learned, aside)]
    assert not fonts[0] & fonts[1]
    assert not set(fontnotes.LEARN) & set(fontnotes.ASIDE)
    for part, law in ((learned, "power"), (aside, "exponential")):
        strings = [i.string for i in part if isinstance(i, Assembled) and isinstance(i.string, Modal)]
        assert {string.law for string in strings} == {law}
        assert {bool(len(string.body.mode_hz)) for string in strings} == {law == "power"}
    round_heads = [_is_round(i.banjo) for i in learned if isinstance(i, Simulated)]
    assert not any(round_heads)
    assert all(_is_round(i.banjo) for i in aside if isinstance(i, Simulated))


def _is_round(banjo: Banjo) -> bool:
    """Whether a head's resonances but the last are those of a membrane, on a stretched scale."""
    if len(banjo.head_hz) != len(MEMBRANE) + 1:
        return False
    stretched = np.log(np.array(banjo.head_hz[1:-1]) / banjo.head_hz[0]) / np.log(MEMBRANE[1:])
    return bool(np.ptp(stretched) < 1e-6)


def test_families_come_in_their_shares(folder: Path) -> None:
    assert sum(family.share for family in FAMILIES.values()) == pytest.approx(1.0)
    kinds = [i.kind.split("-")[0] for i in _instruments(folder, aside=False, count=300)]
    for name, family in FAMILIES.items():
        assert kinds.count(name) / 300 == pytest.approx(family.share, abs=0.1)


def test_without_notes_everything_is_simulated() -> None:
    rngs = [np.random.default_rng(seed) for seed in range(20)]
    made = [drawn_instrument(r, aside=False, notes_folder=None, tuning_cents=0.0, reach=1.0) for r in rngs]
    assert {i.kind for i in made} == {"simulated", "modal"}


def _hand(**options: float) -> Hand:
    usual = {name: ends[0] for name, ends in RANGES.items()} | {"nps": 8.0, "choke_reach": 1.0}
    return Hand(**(usual | options))


def _score(**options: float) -> Score:
    return Score(np.random.default_rng(0), _hand(**options), Neck(), 0.5)


def test_a_slur_without_a_note_before_it_is_struck() -> None:
    score = _score()
    score.note(0, 1, 2, "hammer", late_sec=0.0)
    score.note(1, 1, 4, "pull", late_sec=0.0)
    first, second = score.playing(0).performance.notes
    assert (first.how, first.picked) == ("pick", True)
    assert (second.how, second.picked) == ("hammer", False)


def test_a_string_sounds_one_note_at_a_time() -> None:
    score = _score()
    for late in (0.0, 0.010, 0.020):
        score.note(0, 1, 0, late_sec=late)
    onsets = [note.onset_sec for note in score.playing(0).performance.notes]
    assert np.all(np.diff(onsets) > 0.034)


def test_a_muted_stroke_ends_its_string_and_is_no_note() -> None:
    score = _score()
    score.note(0, 3, 0, late_sec=0.0)
    score.note(0, 2, 0, late_sec=0.0)
    score.touch(2, 3, -6.0, "dead")
    playing = score.playing(0)
    rings = {note.string: note.duration_sec for note in playing.performance.notes}
    assert rings[3] == pytest.approx(2 / 8.0)
    assert rings[2] > 1.0
    assert len(playing.performance.notes) == 2


def test_bounce_delays_every_second_eighth() -> None:
    score = _score(nps=4.0, bounce=0.2)
    steps = np.diff([score.sec(eighth) for eighth in range(5)])
    np.testing.assert_allclose(steps, [0.3, 0.2, 0.3, 0.2])


@in_turn("name", FIGURES)
def test_a_figure_takes_time_and_plays_notes(name: str) -> None:
    score = _score(pinch_share=0.2, slur_share=0.3, choke_share=0.04, highest_fret=22.0)
    player, at = Player(score), 0
    for _ in range(12):
        took = FIGURES[name].play(player, at)
        assert took >= 1
        at += took
    notes = score.playing(0).performance.notes
    assert len(notes) >= 12
    assert max(note.onset_sec for note in notes) <= score.sec(at)


def test_hands_play_what_is_hard_to_hear() -> None:
    found: set[str] = set()
    for seed in range(40):
        rng = np.random.default_rng(seed)
        playing = drawn_playing(rng, seed, drawn_neck(rng))
        notes = playing.performance.notes
        found |= {note.how for note in notes} | {touch.how for touch in playing.touches}
        found |= {"ghost" for note in notes if note.level_db < COUNTS_DB - 1.0}
        found |= {"high" for note in notes if note.fret >= 19}
        for note, after in pairwise(notes):
            gap = after.onset_sec - note.onset_sec
            found |= {"pinch"} if gap < 0.018 and after.string != note.string else set()
            if 0.030 < gap < 0.4:
                same = after.string == note.string
                found |= {("again" if same else "unison")} if after.midi == note.midi else set()
                found |= {"below"} if after.midi == note.midi - 1 else set()
                found |= {"octave"} if abs(after.midi - note.midi) == 12 else set()
    assert found >= {
        *("pick", "hammer", "pull", "slide", "choke", "dead", "stop", "ghost", "high"),
        *("pinch", "again", "unison", "below", "octave"),
    }


@pytest.mark.parametrize("name", DISTURBANCES)
def test_a_disturbance_is_sound_of_peak_one(name: str) -> None:
    for seed in range(3):
        sound = DISTURBANCES[name](np.random.default_rng(seed), RATE, 2 * RATE)
        assert sound.shape == (2 * RATE,)
        assert sound.dtype == np.float32
        assert np.abs(sound).max() == pytest.approx(1.0)
        np.testing.assert_array_equal(sound, DISTURBANCES[name](np.random.default_rng(seed), RATE, 2 * RATE))


def test_no_colour_begins_before_the_sound() -> None:
    pulse = np.zeros(RATE, dtype=np.float32)
    pulse[RATE // 2 : RATE // 2 + 22] = np.hanning(22)  # without the highs, at which any sampled pulse rings
    for seed in range(5):
        colour = Microphone.drawn(np.random.default_rng(seed)).colour
        answer = np.abs(filtered(pulse, RATE, colour).astype(float))
        assert answer[: RATE // 2 - 5].max() < 0.002 * answer.max()


def test_a_flat_colour_changes_nothing() -> None:
    noise = np.random.default_rng(0).standard_normal(4000).astype(np.float32)
    flat = Colour(peak_hz=np.zeros(0), peak_q=np.zeros(0), peak_db=np.zeros(0))
    np.testing.assert_allclose(filtered(noise, RATE, flat), noise, atol=1e-5)


def test_the_level_is_that_of_the_microphone() -> None:
    dry = np.sin(np.arange(RATE) * 0.05).astype(np.float32)
    for seed in range(8):
        microphone = Microphone.drawn(np.random.default_rng(seed))
        sound = recorded(dry, RATE, microphone, np.random.default_rng(0))
        peak = 20.0 * np.log10(np.abs(sound).max())
        assert microphone.peak_dbfs - 2.5 < peak < microphone.peak_dbfs + 0.1


def test_takes_need_no_more_than_numpy() -> None:
    code = "import sys; from tests.bench.train.takes import drawn; drawn(0); print(*sys.modules)"
    root = Path(__file__).parent.parent
    run = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert not {"scipy", "soundfile", "mido", "torch", "aubio"} & set(run.stdout.split())


def test_nothing_to_learn_from_is_made_of_what_is_for_testing_only() -> None:
    assert fontnotes.FONT not in TEST_ONLY_FONTS
    learning = [Path(learn.__file__), *Path(fontnotes.__file__).parent.glob("*.py")]
    words = [path.read_text(encoding="utf-8").lower() for path in learning]
    assert len(words) > 10
    assert not [word for word in words for font in (*TEST_ONLY_FONTS, "gmbank") if font in word]
