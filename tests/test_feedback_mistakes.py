"""Each named mistake is, by the judges' own verdict on what was played, the thing that its name says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

import pytest

from feedback.judges.whole import Judged, judge_pass
from feedback.mistakes import MISTAKES
from feedback.performance import HandSettings, as_heard, perform
from feedback.played import Performance
from routines.errors import BadRoutine
from routines.library import all_licks
from routines.lick import Lick
from routines.outcome import SeventhVerdict
from tests.few import few_licks
from tests.in_turn import in_turn
from tests.scores import A, B, grid_of, lick, target_at

STEADY = HandSettings(jitter_ms=0.0, dynamics_db=0.0, pinch_ms=0.0)
PLAIN = lick("3/0 2/0 1/0 5/0 2/0 1/0 5/0 1/0", "G", name="plain")


def heard(of: Lick, played: Performance) -> Judged:
    grid = grid_of(of, tempo_half_bpm=played.tempo_half_bpm, start_sec=played.start_sec)
    return judge_pass(grid, as_heard(played))


def slipped(of: Lick, name: str, *, tempo: float = 100.0, seed: int = 1) -> Judged | None:
    """The judges' word on a lick with one mistake; None where the lick has no place for it."""
    try:
        return heard(of, perform(of, tempo_half_bpm=tempo, mistakes=[name], seed=seed))
    except BadRoutine as error:
        if "does not apply" not in str(error):
            raise
        return None


def words(judged: Judged) -> Counter[str]:
    return Counter(note.verdict for note in judged.outcome.notes)


def fate(judged: Judged) -> SeventhVerdict:
    """The one seven that did not simply land and go where it is asked to (or land, with nothing asked)."""
    odd = [seven for seven in judged.outcome.sevenths if not seven.landed or seven.as_asked is False]
    assert len(odd) == 1
    return odd[0]


def seven_word(word: str, most: int = 2) -> Callable[[Judged], bool]:
    """The seven's own note has this verdict, and hardly anything else is touched."""

    def holds(judged: Judged) -> bool:
        notes = judged.outcome.notes
        note = notes[fate(judged).index]
        touched = sum(count for verdict, count in words(judged).items() if verdict != "landed")
        pinched = sum(other.onset_sec == note.onset_sec for other in notes)
        return note.verdict == word and touched <= max(most, pinched) and not judged.outcome.extras

    return holds


def went(resolution: str) -> Callable[[Judged], bool]:
    def holds(judged: Judged) -> bool:
        # In a chain the due note may be pinched with the next seven, which then goes along with it.
        astray = [seven for seven in judged.outcome.sevenths if seven.landed and seven.as_asked is False]
        return [seven.resolution for seven in astray] == [resolution] and judged.outcome.clean is False

    return holds


def only(word: str, count: int, clean: bool) -> Callable[[Judged], bool]:
    """Just so many notes have this verdict, all others landed, and nothing was added."""

    def holds(judged: Judged) -> bool:
        expected = Counter({"landed": len(judged.outcome.notes) - count, word: count})
        return words(judged) == expected and not judged.outcome.extras and judged.outcome.clean is clean

    return holds


def added(foreign: bool) -> Callable[[Judged], bool]:
    def holds(judged: Judged) -> bool:
        all_landed = set(words(judged)) == {"landed"}
        return all_landed and [extra.foreign for extra in judged.outcome.extras] == [foreign]

    return holds


def swallowed(judged: Judged) -> bool:
    seven = fate(judged)
    return seven.swallowed is True and seven.sounded is True and set(words(judged)) == {"landed"}


def none_sounded(judged: Judged) -> bool:
    return all(seven.sounded is False and seven.due is False for seven in judged.outcome.sevenths)


def runs_away(judged: Judged) -> bool:
    deviations = [note.deviation_ms for note in judged.outcome.notes if note.deviation_ms is not None]
    eighth_ms = 15_000.0 / judged.outcome.tempo_half_bpm
    return deviations[0] - deviations[-1] > 0.3 * eighth_ms


def is_uneven(judged: Judged) -> bool:
    return (judged.outcome.timing.spread_ms or 0.0) > 25.0


def leans(sign: float) -> Callable[[Judged], bool]:
    return lambda judged: 15.0 < sign * (judged.outcome.timing.lean_ms or 0.0) < 29.0


def bounces(judged: Judged) -> bool:
    bounce = judged.outcome.timing.bounce
    return bounce is None or 0.545 < bounce < 0.595


NAMED: dict[str, Callable[[Judged], bool]] = {
    "seven-missing": seven_word("missed"),
    "seven-root": seven_word("wrong", most=1),
    "seven-sixth": seven_word("wrong", most=1),
    "seven-natural": seven_word("wrong", most=1),
    "seven-late": seven_word("late"),
    "seven-late-far": seven_word("late"),
    "seven-late-full": seven_word("late"),
    "seven-early": seven_word("early"),
    "seven-swallowed": swallowed,
    "all-sevens-missing": none_sounded,
    "left-hanging": went("hanging"),
    "resolution-up": went("hanging"),
    "resolution-octave": went("octave"),
    "resolution-ahead": went("ahead"),
    "resolution-late": went("late"),
    "filler-wrong": only("wrong", 1, clean=True),
    "filler-missing": only("missed", 1, clean=True),
    "filler-added": added(foreign=True),
    "chord-tone-added": added(foreign=False),
    "core-wrong": only("wrong", 1, clean=False),
    "core-missing": only("missed", 1, clean=False),
    "core-added": added(foreign=True),
    "two-swapped": lambda judged: words(judged)["wrong"] == 2 and len(words(judged)) == 2,
    "hurry-at-change": lambda judged: judged.hurried and set(words(judged)) == {"landed"},
    "bounced": bounces,
    "leaning-ahead": leans(-1.0),
    "leaning-behind": leans(+1.0),
    "rising-tempo": runs_away,
    "uneven": is_uneven,
}


def test_every_mistake_has_its_test_and_a_line_about_it() -> None:
    assert set(NAMED) == set(MISTAKES)
    assert all(row.about and "\n" not in row.about for row in MISTAKES.values())


@in_turn("name", NAMED)
def test_what_is_played_is_what_the_name_says(name: str) -> None:
    seen, others = 0, []
    for of in (*few_licks(), A, B):
        for tempo, seed in ((60.0, 1), (120.0, 2)):
            judged = slipped(of, name, tempo=tempo, seed=seed)
            if judged is not None:
                seen += 1
                if not NAMED[name](judged):
                    others.append((of.id, tempo, seed))
    assert seen >= 20
    # A hand's own unevenness carries a note over a limit now and then, and in a chop or a lick of ten notes a
    # habit may not show: over the whole repertoire in 21 of 6,362.
    assert len(others) <= seen / 20, others


def test_without_a_mistake_every_pass_is_clean() -> None:
    for of in all_licks():
        for tempo, seed in ((60.0, 3), (150.0, 4)):
            assert heard(of, perform(of, tempo_half_bpm=tempo, seed=seed)).outcome.clean is True


@pytest.mark.parametrize(
    ("name", "place", "midi"),
    [
        ("seven-root", "b1e8", 62),
        ("seven-sixth", "b1e8", 59),
        ("seven-natural", "b1e8", 61),
        ("resolution-up", "b2e1", 62),
        ("resolution-octave", "b2e1", 71),
    ],
)
def test_the_pitch_that_comes_instead(name: str, place: str, midi: int) -> None:
    target = target_at(A, place)
    judged = heard(A, perform(A, tempo_half_bpm=120, mistakes=[name], seed=1, hand=STEADY))
    assert judged.outcome.notes[target].heard_midi == midi


def test_two_mistakes_are_both_made() -> None:
    played = perform(A, tempo_half_bpm=100, mistakes=["left-hanging", "filler-missing"], seed=1)
    judged = heard(A, played)
    assert fate(judged).resolution == "hanging"
    assert played.mistakes == ("left-hanging", "filler-missing")
    fewer = perform(A, tempo_half_bpm=100, mistakes=["left-hanging"], seed=1)
    assert len(played.notes) == len(fewer.notes) - 1


def test_hanging_leaves_no_tone_of_the_due_class_in_the_bar() -> None:
    played = perform(A, tempo_half_bpm=150, mistakes=["left-hanging"], seed=1, hand=STEADY)
    bar_two = [n for n in played.notes if n.onset_sec >= played.start_sec + 8 * 0.1 - 1e-9]
    assert len(bar_two) == 6
    assert all(n.midi % 12 != 59 % 12 for n in bar_two)


def test_a_full_eighth_late_on_the_string_of_the_due_note_takes_it_along() -> None:
    played = perform(A, tempo_half_bpm=150, mistakes=["seven-late-full"], seed=1, hand=STEADY)
    second = [(round((n.onset_sec - 0.5) / 0.1, 2), n.midi) for n in played.notes if n.string == 2]
    # The C of b1e8 lies on the change less the lead of a pinch; the B behind it, three quarters of an eighth.
    assert second == [(1.0, 60), (4.0, 60), (7.88, 60), (8.75, 59)]


def test_ahead_stands_half_way_where_the_seven_fills_the_eighth_before() -> None:
    played = perform(A, tempo_half_bpm=150, mistakes=["resolution-ahead"], seed=1, hand=STEADY)
    at = {round((n.onset_sec - 0.5) / 0.1, 2): n.midi for n in played.notes}
    assert (at[7.0], at[7.5]) == (60, 59)
    assert 8.0 not in at


def test_late_also_holds_where_the_due_pitch_passes_by_before_its_place() -> None:
    of = lick("3/2 1/4 1/0 5/0 1/4 1/0 2/1 2/0 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G")
    judged = slipped(of, "resolution-late")
    assert judged is not None
    assert fate(judged).resolution == "late"


def test_an_unknown_name_is_answered_with_all_names() -> None:
    with pytest.raises(BadRoutine, match="did you mean left-hanging") as error:
        perform(A, tempo_half_bpm=100, mistakes=["left-hangin"], seed=1)
    assert all(name in str(error.value) for name in MISTAKES)


@in_turn("name", [n for n in MISTAKES if "seven" in n or "resolution" in n])
def test_a_lick_without_a_seven_has_no_place_for_its_mistakes(name: str) -> None:
    with pytest.raises(BadRoutine, match="plain: this mistake does not apply"):
        perform(PLAIN, tempo_half_bpm=100, mistakes=[name], seed=1)


def test_a_pinched_seven_is_left_out_whole() -> None:
    of = lick("3/2 2/0 1/0 5/0 2/0 1/0 5/0 2/1+1/4 | 2/0 1/0 5/0 3/0", "D7 G")
    judged = slipped(of, "seven-missing")
    assert judged is not None
    assert judged.outcome.notes[target_at(of, "b1e8@1")].verdict == "missed"
    assert fate(judged).sounded is False
