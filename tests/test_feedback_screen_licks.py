"""The licks: found by filters and typing, looked at, heard, and handed on to be played along with."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from feedback.another_key import in_key, keys_of, not_exact
from feedback.hearing_out import ENDING, OVER, SOUNDING, STARTING
from feedback.screen.frame import Frame
from feedback.screen.marks import Box, Picture, Sheet, Text
from feedback.screen.screens.licks import SILENT_WITHIN_SEC, STEP_HALF_BPM, Licks, enter
from feedback.screen.staging import Go, House, Leave
from feedback.screen.views.lick import BACK, KEY, LickState, lick_picture
from feedback.screen.views.lick_rows import FACTS, change_words, key_words
from feedback.screen.views.licks import FURTHER, ListState, licks_picture, page_of, pages_of, rows_on
from feedback.screen.views.offered import first_tempo
from feedback.screen.views.search import FILTERS, LONGEST, Search, facts, words_of
from feedback.setting_rows import SETTINGS
from listener.device import MISSING
from routines.excerpt import falls
from routines.finding import find
from routines.hand.playing import hands
from routines.library import all_licks, changes_of, load, shape_changes_of
from routines.lick import Lick
from routines.moving.answers import Alteration
from routines.moving.fingering import fingering
from routines.moving.names import key_moved_to
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM
from tests.few import few_licks
from tests.in_turn import naming
from tests.pictures import SHEETS, check_picture

SUPPER = load("slab-wood-supper")
CHOICE = load("trimmers-choice")
PINCHES = load("guide-tone-pinches")
CHALK = load("chalk-on-the-tailgate")  # in two keys not all of its notes can be had
SMALL = Sheet(960, 720)


class Hearing:
    """Stands for `feedback.hearing_out.HearingOut`."""

    made: list[Hearing]

    def __init__(self, *asked: Any) -> None:
        self.asked, self.state, self.hung = asked, STARTING, False
        self.calls: list[str] = []
        Hearing.made.append(self)

    @property
    def goes_on(self) -> bool:
        return self.state in (STARTING, SOUNDING, ENDING)

    def start(self) -> None:
        self.calls.append("start")
        self.state = SOUNDING

    def stop(self) -> None:
        self.calls.append("stop")
        self.state = ENDING if self.goes_on else self.state

    def ended(self, within_sec: float) -> bool:
        self.stop()
        return not self.hung


class Desk:
    """A screen of licks with a house whose clock stands still."""

    def __init__(self) -> None:
        Hearing.made = []
        self.sec = 0.0
        self.stored: list[dict[str, str]] = []
        self.house = House(
            values={name: row.default for name, row in SETTINGS.items()},
            clock=lambda: self.sec,
            device="7",
            store=lambda changed: self.stored.append(dict(changed)),
        )
        self.screen = Licks(self.house, hearer=Hearing)  # type: ignore[arg-type]  # its stand-in
        self.focus = ""

    def picture(self, sheet: Sheet = SMALL) -> Picture:
        """As the frame asks for it: what has no focus any more gives it to the first spot."""
        picture = self.screen.picture(sheet, self.focus)
        names = [spot.does for spot in picture.spots]
        if self.focus not in names:
            self.focus = names[0]
            picture = self.screen.picture(sheet, self.focus)
        return picture

    def type(self, text: str) -> None:
        for char in text:
            assert self.screen.press("space" if char == " " else char) is True

    def shown(self) -> list[str]:
        return [s.does.removeprefix("open ") for s in self.picture().spots if s.does.startswith("open ")]

    def open(self, lick_id: str) -> None:
        assert self.screen.act(f"open {lick_id}") is None


@pytest.fixture
def desk() -> Desk:
    return Desk()


def words(picture: Picture) -> str:
    return " ".join(picture.texts)


# The list


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_page_of_the_list_stands_well(sheet: Sheet) -> None:
    states = [ListState(page=page) for page in range(pages_of(Search(), sheet))]
    narrow = (
        Search(change="F#7-B"),
        Search(use="turnaround", hand="ready"),
        Search(typed="wwwwwwww#######wwwwwwwww"),
    )
    states += [ListState(search=search) for search in narrow]
    for number, state in enumerate(states):  # each with another focus
        spots = licks_picture(state, sheet, "").spots
        check_picture(licks_picture(state, sheet, spots[number % len(spots)].does))


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_pages_together_show_every_lick_once_and_no_word_is_cut_off(sheet: Sheet) -> None:
    seen: list[str] = []
    texts: list[str] = []
    for page in range(pages_of(Search(), sheet)):
        picture = licks_picture(ListState(page=page), sheet, FURTHER)
        seen += [spot.does for spot in picture.spots if spot.does.startswith("open ")]
        texts += picture.texts
    assert seen == [f"open {lick.id}" for lick in all_licks()]
    assert not [text for text in texts if "…" in text]
    assert [texts.count(lick.title) for lick in all_licks()] == [1] * len(all_licks())
    assert rows_on(sheet) >= 7


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_value_of_a_filter_is_read_in_full_and_so_are_the_licks_that_it_leaves(sheet: Sheet) -> None:
    for name in FILTERS:
        for value in Search().choices(name):
            search = replace(Search(), **{name: value})
            picture = licks_picture(ListState(search=search), sheet, f"filter {name}")
            assert words_of(name, value).replace("#", "♯").replace("Bb", "B♭") in picture.texts
            assert not [text for text in picture.texts if "…" in text]
            assert picture.texts[0] == f"{len(search.found())} lick{'s' * (len(search.found()) != 1)}"


def test_a_row_tells_change_key_hand_and_top_as_the_hand_has_it() -> None:
    state = ListState(search=Search(typed="trimmer"))
    texts = [mark for mark in licks_picture(state, SMALL, "").marks if isinstance(mark, Text)]
    row = next(text.y for text in texts if text.text == "Trimmer's Choice")
    assert [text.text for text in sorted((t for t in texts if t.y == row), key=lambda t: t.x)] == [
        "Trimmer's Choice",
        "D7-G",
        "B, capo 4",
        "quick",
        "125",
    ]
    heads = {text.text: text for text in texts if text.text in ("shapes", *FACTS)}
    for head, said in zip(("shapes", *FACTS[1:]), ("D7-G", "B, capo 4", "quick", "125"), strict=True):
        cell = next(text for text in texts if text.text == said and text.y == row)
        assert (cell.x, cell.anchor) == (heads[head].x, heads[head].anchor)
    assert "half notes a minute" in words(licks_picture(state, SMALL, ""))


@pytest.mark.parametrize(
    ("sheet", "head", "said"),
    [(SMALL, "shapes", "D7-G"), (Sheet(), "change (shapes)", "F♯7-B (D7-G)")],
)
def test_the_heading_says_whether_changes_sound_so(sheet: Sheet, head: str, said: str) -> None:
    capo = licks_picture(ListState(search=Search(typed="trimmer")), sheet, "").texts
    assert {head, said} <= set(capo)
    assert "change" not in capo
    plain = licks_picture(ListState(search=Search(typed="slab wood")), sheet, "").texts
    assert {"change", "D7-G"} <= set(plain)
    assert not {"shapes", "change (shapes)"} & set(plain)


def test_of_several_changes_the_one_that_was_looked_for_stands_first() -> None:
    lick = next(lick for lick in all_licks() if len(shape_changes_of(lick)) == 2 and lick.neck.capo)
    (shape, other), (_, sounds) = shape_changes_of(lick), changes_of(lick)
    assert change_words(lick) == f"{shape} +1"
    assert change_words(lick, other) == change_words(lick, sounds) == f"{other} +1"
    assert change_words(lick, "C7-F#") == f"{shape} +1"
    assert change_words(lick, other, both=True) == f"{sounds} ({other}) +1"
    assert change_words(SUPPER, both=True) == "D7-G"
    assert change_words(replace(lick, sevenths=())) == ""
    state = ListState(search=Search(change=other, title=facts(lick, "title")[0], use=lick.use))
    assert f"{other} +1" in licks_picture(state, SMALL, "").texts


def test_the_row_in_focus_is_inked_over_and_no_other() -> None:
    lick = all_licks()[2]
    picture = licks_picture(ListState(), SMALL, f"open {lick.id}")
    inked = [mark for mark in picture.marks if isinstance(mark, Text) and mark.on == "chosen"]
    assert lick.title in [text.text for text in inked]
    assert len(inked) == 1 + len(FACTS)
    assert len({text.y for text in inked}) == 1


def test_the_focus_goes_round_by_filters_page_rows_and_back() -> None:
    does = [spot.does for spot in licks_picture(ListState(), SMALL, "").spots]
    filters = [f"filter {name}" for name in FILTERS]
    rows = [f"open {lick.id}" for lick in all_licks()[: rows_on(SMALL)]]
    assert does == [*filters, FURTHER, *rows, "back"]
    lost = [spot.does for spot in licks_picture(ListState(), SMALL, "open gone").spots]
    assert lost == [*rows, "back", *filters, FURTHER]
    begun = [spot.does for spot in licks_picture(ListState(first=all_licks()[2].id), SMALL, "").spots]
    assert begun == [*lost[2:], *lost[:2]]
    [lick] = Search(typed="slab wood").found()
    assert [
        spot.does for spot in licks_picture(ListState(search=Search(typed="slab wood")), SMALL, "").spots
    ] == [
        *filters,
        f"open {lick.id}",
        "back",
    ]


@pytest.mark.parametrize("lick", few_licks()[::3], ids=lambda lick: lick.id)
def test_a_pedal_of_two_keys_reaches_any_lick_in_few_presses(lick: Lick) -> None:
    desk = Desk()
    frame = Frame(desk.house, "licks")
    pressed = 0

    def press(name: str) -> None:
        nonlocal pressed
        frame.press(str(desk.house.values[name]))
        frame.picture(SMALL)
        pressed += 1

    frame.picture(SMALL)
    while frame.focus != "filter title":
        press("pedal_next")
    letters = words_of("title", facts(lick, "title")[0])
    while letters not in frame.picture(SMALL).texts:
        press("pedal_choose")
    press("pedal_next")
    while lick.title not in frame.picture(SMALL).texts:
        assert frame.focus == FURTHER
        press("pedal_choose")
    while frame.focus != f"open {lick.id}":
        press("pedal_next")
    press("pedal_choose")
    assert frame.focus == "play along"
    assert pressed <= 25


def test_typing_is_seen_narrows_and_gives_the_focus_to_the_first_that_fits(desk: Desk) -> None:
    for focus in ("filter change", FURTHER, "open gone"):
        desk.focus = focus
        desk.picture()
        desk.type("Slab Wo")
        assert "find: Slab Wo" in desk.picture().texts
        assert desk.shown() == ["slab-wood-supper"]
        assert desk.focus == "open slab-wood-supper"
        assert desk.screen.press("backspace") is True
        assert "find: Slab W" in desk.picture().texts
        assert desk.screen.press("escape") is True
    desk.type("qqq")
    desk.picture()
    assert desk.focus == "find all"


def test_after_typing_all_else_can_be_chosen_again(desk: Desk) -> None:
    desk.picture()
    assert desk.focus == "filter change"
    desk.type("a")
    assert "filter change" in [spot.does for spot in desk.picture().spots]
    desk.focus = "filter key"
    desk.screen.act("filter key")
    desk.picture()
    assert desk.focus == "filter key"


def test_sharps_are_typed_as_they_are(desk: Desk) -> None:
    desk.type("f#7-b ")
    assert "find: f#7-b" in [text.rstrip() for text in desk.picture().texts]
    assert desk.shown() == [lick.id for lick in find("F#7-B")[: rows_on(SMALL)]]
    assert desk.shown()


def test_space_chooses_unless_a_word_was_typed_and_long_texts_end(desk: Desk) -> None:
    assert desk.screen.press("space") is False
    desk.type("a ")
    assert desk.screen.press("space") is False
    desk.type("w" * (LONGEST - 2))
    assert desk.screen.press("w") is False
    check_picture(desk.picture())


def test_escape_takes_back_what_was_typed_then_leaves(desk: Desk) -> None:
    desk.type("edg")
    assert desk.screen.press("escape") is True
    assert desk.shown() == [lick.id for lick in all_licks()[: rows_on(SMALL)]]
    assert desk.screen.press("escape") is False
    assert desk.screen.press("backspace") is False
    assert desk.screen.press("f5") is False


def test_where_nothing_fits_one_press_finds_all_again(desk: Desk) -> None:
    desk.type("qqq")
    picture = desk.picture()
    assert "No lick fits." in picture.texts
    assert desk.focus == "find all"
    desk.screen.act("find all")
    assert desk.shown() == [lick.id for lick in all_licks()[: rows_on(SMALL)]]


def test_filters_are_turned_by_choosing_and_by_left_and_right(desk: Desk) -> None:
    desk.screen.act("filter hand")
    assert "easy hand" in desk.picture().texts
    desk.focus = "filter hand"
    desk.picture()
    assert desk.screen.press("left") is True
    assert desk.screen.press("left") is True
    assert "quick hand" in desk.picture().texts
    assert desk.shown() == [lick.id for lick in all_licks() if lick.hand == "quick"][: rows_on(SMALL)]
    desk.focus = "back"
    desk.picture()
    assert desk.screen.press("right") is False


def test_left_and_right_turn_the_page_beside_it_and_in_the_rows(desk: Desk) -> None:
    begun = desk.shown()
    pages = [all_licks()[k : k + rows_on(SMALL)] for k in range(0, len(all_licks()), rows_on(SMALL))]
    for focus in (FURTHER, f"open {begun[1]}"):
        desk.focus = focus
        desk.picture()
        assert desk.screen.press("right") is True
        assert desk.shown() == [lick.id for lick in pages[1]]
        assert desk.focus == (focus if focus == FURTHER else f"open {pages[1][0].id}")
        for _ in range(2):
            assert desk.screen.press("left") is True
        assert desk.shown() == [lick.id for lick in pages[-1]]
        desk.screen.press("right")


def test_pages_go_round(desk: Desk) -> None:
    first = desk.shown()
    pages = pages_of(Search(), SMALL)
    assert pages > 1
    for _ in range(pages - 1):
        desk.screen.act(FURTHER)
    assert f"page {pages} of {pages}" in desk.picture().texts
    assert desk.shown()[-1] == all_licks()[-1].id
    desk.screen.act(FURTHER)
    assert desk.shown() == first


def test_a_narrower_search_begins_on_its_first_page(desk: Desk) -> None:
    desk.screen.act(FURTHER)
    desk.type("d")
    assert "page 1 of" in words(desk.picture())


def test_entered_with_a_lick_the_list_is_turned_to_it() -> None:
    desk = Desk()
    screen = enter(desk.house, all_licks()[-1])
    picture = screen.picture(SMALL, "")
    assert picture.spots[0].does == f"open {all_licks()[-1].id}"
    assert page_of(all_licks()[-1].id, Search(), SMALL) == pages_of(Search(), SMALL) - 1
    own = replace(SUPPER, id="my-own")
    assert f"open {all_licks()[0].id}" in [s.does for s in enter(desk.house, own).picture(SMALL, "").spots]


def test_entered_with_a_lick_in_another_key_the_list_is_turned_to_that_lick(desk: Desk) -> None:
    moved = in_key(SUPPER, "A").lick
    assert moved != SUPPER
    assert enter(desk.house, moved).picture(SMALL, "").spots[0].does == f"open {SUPPER.id}"


# A lick's own page


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_page_of_every_lick_stands_well_and_no_word_of_it_is_cut_off(sheet: Sheet) -> None:
    for lick in all_licks() if sheet == SMALL else few_licks():
        state = LickState(lick=lick, tempo_half_bpm=237.0, first_bar=lick.bars)
        picture = lick_picture(state, sheet, "the change alone")
        with naming(lick.id):
            assert not [text for text in picture.texts if "…" in text]
            check_page(picture)
        for spot in picture.spots if lick in (PINCHES, SUPPER) else ():
            assert not [text for text in lick_picture(state, sheet, spot.does).texts if "…" in text]


def test_the_page_stands_well_whatever_is_heard() -> None:
    for lick in few_licks():
        state = LickState(lick=lick, tempo_half_bpm=237.0)
        with naming(lick.id):
            check_page(lick_picture(replace(state, hearing=SOUNDING), SMALL, "hear it"))
            check_page(lick_picture(replace(state, hearing=MISSING), SMALL, ""))


def test_the_page_stands_well_in_other_keys_and_no_word_is_cut_off() -> None:
    asked = [(lick, keys_of(lick)[number % 8], SMALL) for number, lick in enumerate(few_licks())]
    asked += [(lick, key, SMALL) for lick in (PINCHES, CHALK) for key in keys_of(lick)]
    asked += [(load(name), "F", Sheet()) for name in ("burr-on-the-edge", "one-tooth-sings", "slow-kettle")]
    for lick, key, sheet in asked:
        picture = lick_picture(LickState(lick=lick, key=key, tempo_half_bpm=237.0), sheet, KEY)
        check_page(picture)
        assert not [text for text in picture.texts if "…" in text]


def check_page(picture: Picture) -> None:
    """The tab's own small signs may stand close; all else must stand well, and the tab above the tempo."""
    tempo = next(m for m in picture.marks if isinstance(m, Text) and "half notes a minute" in m.text)
    key = next(spot for spot in picture.spots if spot.does == KEY)
    above = [m for m in picture.marks[: picture.marks.index(tempo)] if isinstance(m, Text)]
    assert max(m.y + 0.24 * m.size for m in above) <= min(tempo.y - 0.76 * tempo.size, key.y) + 1.5
    check_picture(replace(picture, marks=tuple(m for m in picture.marks if not getattr(m, "minor", False))))


def test_it_tells_what_it_trains_for_which_hand_and_how_the_fifth_string_is_tuned() -> None:
    said = words(lick_picture(LickState(lick=CHOICE, tempo_half_bpm=100.0), Sheet(), ""))
    assert CHOICE.trains in said
    assert "D7-G: quick hand, fifth string at b" in said
    assert "key of B, capo 4" in said
    assert "100 half notes a minute, top 125" in said
    assert key_words(SUPPER) == "G"


def test_sounding_names_of_a_capo_lick_stand_nowhere_on_its_page() -> None:
    assert "F♯7" not in words(lick_picture(LickState(lick=CHOICE, tempo_half_bpm=100.0), Sheet(), ""))


def test_the_tab_is_as_large_as_it_can_be_and_bars_that_do_not_fit_can_be_turned_to(desk: Desk) -> None:
    whole = lick_picture(LickState(lick=SUPPER, tempo_half_bpm=80.0), Sheet(1680, 720), "")
    assert max(m.size for m in whole.marks if isinstance(m, Text) and m.text.isdigit()) > 28.0
    assert not [spot for spot in whole.spots if spot.does.startswith("bars ")]
    desk.open(PINCHES.id)
    seen: list[str] = []
    turns = ["bars 1"]
    for _ in range(10):
        picture = desk.picture()
        faint = [m.text for m in picture.marks if isinstance(m, Text) and m.ink == "faint"]
        counts = [text for text in faint if text.isdigit()]
        seen += counts
        assert counts[:1] == [turns[-1].removeprefix("bars ")] or turns[-1] == "bars 1"
        turns.append(next(spot.does for spot in picture.spots if spot.does.startswith("bars ")))
        desk.screen.act(turns[-1])
        if turns[-1] == "bars 1":
            break
    else:
        pytest.fail("it never came round")
    assert len(turns) > 2
    assert {turn.removeprefix("bars ") for turn in turns[1:-1]} <= set(seen)


def _circled(picture: Picture) -> str:
    """The left hand's fingers from left to right."""
    texts = [mark for mark in picture.marks if isinstance(mark, Text)]
    rings = [mark for mark in picture.marks if isinstance(mark, Box) and mark.edge == "faint"]
    inside = [
        text
        for text in texts
        for ring in rings
        if text.x == ring.x + ring.wide / 2 and ring.y < text.y < ring.y + ring.high
    ]
    assert len(inside) == len(rings)
    return "".join(text.text for text in sorted(inside, key=lambda text: text.x))


@pytest.mark.parametrize("key", ["G", "F"])
def test_the_left_hand_stands_below_the_tab_and_is_explained(key: str) -> None:
    state = LickState(lick=SUPPER, tempo_half_bpm=80.0, key=key)
    picture = lick_picture(state, SMALL, "")
    stopped = [str(finger) for finger in hands(state.here.lick).left if finger]
    assert _circled(picture) == "".join(stopped)
    assert picture.texts[-1].endswith("; circled: the left hand")


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_left_hand_costs_no_bar(sheet: Sheet, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a lick is to be turned, it is so without it; where it has no room, nothing is said of it."""

    def drawn() -> list[Picture]:
        return [
            lick_picture(LickState(lick=lick, tempo_half_bpm=80.0), sheet, "")
            for lick in (*few_licks(), PINCHES)
        ]

    seen = drawn()
    monkeypatch.setattr("feedback.screen.views.lick.fingers_of", lambda lick: ())
    for one, without in zip(seen, drawn(), strict=True):
        assert [spot.does for spot in one.spots] == [spot.does for spot in without.spots]
        assert bool(_circled(one)) == one.texts[-1].endswith("circled: the left hand")
        assert not _circled(without)
    assert sum(bool(_circled(one)) for one in seen) > 0.8 * len(seen)


def test_without_a_fall_there_is_no_change_to_be_played_alone() -> None:
    bare = replace(SUPPER, sevenths=())
    assert falls(SUPPER)
    assert not falls(bare)
    does = [s.does for s in lick_picture(LickState(lick=bare, tempo_half_bpm=80.0), Sheet(), "").spots]
    assert "the change alone" not in does
    assert does[:2] == ["play along", "in traffic"]


def test_in_another_key_the_page_is_that_of_the_lick_there_with_how_it_is_played(desk: Desk) -> None:
    desk.open(SUPPER.id)
    assert "key of G" in desk.picture().texts
    desk.focus = KEY
    desk.picture()
    assert desk.screen.press("right") is True
    desk.screen.act(KEY)
    said = words(desk.picture())
    assert keys_of(SUPPER)[:3] == ("G", "D", "A")
    assert "Capo 2, fifth string at a, the frets as in G." in said
    assert SUPPER.trains in said
    assert SUPPER.title in desk.picture().texts
    assert {"key of A, capo 2", "key of A"} <= set(desk.picture().texts)
    for _ in range(3):
        assert desk.screen.press("left") is True
    there = in_key(SUPPER, "C")
    assert {f"key of {key_words(there.lick)}", "key of C"} <= set(desk.picture().texts)
    assert desk.screen.press("left") is True
    said = words(desk.picture())
    assert "No capo, fingered anew, " in said
    assert in_key(SUPPER, "F").words in said
    assert {"C7", "F", "key of F"} <= set(desk.picture().texts)
    assert SUPPER.trains not in said


def test_keys_go_round_from_the_licks_own_and_none_is_left_out() -> None:
    minor = next(lick for lick in all_licks() if lick.key == "Am")
    assert keys_of(minor) == ("Am", "Em", "Bm", "Bbm", "Fm", "Cm", "Gm", "Dm")
    assert keys_of(replace(SUPPER, key="Eb")) == ("Eb", "Bb", "F", "C", "G", "D", "A", "E", "B")
    desk = Desk()
    desk.open(SUPPER.id)
    seen = []
    for _ in range(len(keys_of(SUPPER))):
        desk.screen.act(KEY)
        seen.append(next(text for text in desk.picture().texts[::-1] if text.startswith("key of ")))
    assert seen == [f"key of {key}".replace("Bb", "B♭") for key in (*keys_of(SUPPER)[1:], "G")]
    assert words(desk.picture()) == words(
        lick_picture(LickState(lick=SUPPER, tempo_half_bpm=80.0, climbs=True), SMALL, "")
    )


@pytest.mark.parametrize(("lick", "key"), [(SUPPER, "F"), (load("tally-stick"), "B"), (CHALK, "E")])
def test_a_lick_that_is_fingered_anew_tells_no_note_that_is_not_there(lick: Lick, key: str) -> None:
    moved = in_key(lick, key)
    assert moved.words.startswith("No capo, fingered anew, ")
    assert moved.lick.neck.capo == 0
    assert moved.trains == ""
    assert ("Not quite the same: " in moved.words) == (lick == CHALK)
    assert lick.trains not in words(
        lick_picture(LickState(lick=lick, key=key, tempo_half_bpm=80.0), SMALL, "")
    )


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        ([], ""),
        ([("C4", "C5")], "C5 for C4"),
        ([("the drone", "left out"), ("F#3", "left out")], "the drone left out, F# left out"),
        ([("C4", "E4")] * 3, "E for C 3 times"),
        ([("B2", "D#3"), ("B2", "D#3"), ("A3", "C#4")], "D# for B twice, C# for A"),
        ([("B3, pulled off", "B3, picked")], "B picked, not pulled off"),
    ],
)
def test_what_is_altered_is_said_in_a_line(altered: list[tuple[str, str]], said: str) -> None:
    exact = fingering(SUPPER, key_moved_to("G", "F"))
    notes = [
        Alteration(index=k, before=before, after=after, why="") for k, (before, after) in enumerate(altered)
    ]
    found = replace(exact, altered=tuple(notes))
    assert not_exact(found) == (f"Not quite the same: {said}." if said else "")
    slower = Alteration(index=None, before="120 half notes a minute", after="96 half notes a minute", why="")
    assert (
        not_exact(replace(exact, altered=(slower,))) == "Not quite the same: 96 half notes a minute at most."
    )
    assert not_exact(replace(found, playable=False)) == "No hand plays it at its top tempo."


def test_the_tempo_begins_at_four_fifths_and_goes_by_four_within_the_range(desk: Desk) -> None:
    desk.open("slab-wood-supper")
    assert "ladder from 80 half notes, top 100" in desk.picture().texts
    page = LickState(lick=SUPPER, tempo_half_bpm=80.0, climbs=True)
    assert "the ladder begins at 80 half notes a minute, top 100" in lick_picture(page, Sheet(), "").texts
    desk.screen.act("faster")
    assert "84 half notes a minute, top 100" in desk.picture().texts
    for _ in range(100):
        desk.screen.act("slower")
    assert f"{SLOWEST_HALF_BPM:g} half notes a minute, top 100" in desk.picture().texts
    for _ in range(100):
        desk.screen.act("faster")
    assert f"{FASTEST_HALF_BPM:g} half notes a minute, top 100" in desk.picture().texts
    assert STEP_HALF_BPM == 4.0


@pytest.mark.parametrize(
    ("does", "more"),
    [
        ("play along", {}),
        ("watch it played", {"source": "sim"}),
        ("the change alone", {"loop": "change"}),
    ],
)
def test_it_is_handed_on_at_its_tempo_and_remembered(desk: Desk, does: str, more: dict[str, str]) -> None:
    desk.open("tally-stick")
    desk.screen.act("slower")
    lick = load("tally-stick")
    go = desk.screen.act(does)
    assert go == Go("play along", {"lick": lick, "tempo_half_bpm": first_tempo(lick) - 4.0, **more})
    assert desk.stored == [{"last_lick": "tally-stick"}]


@pytest.mark.parametrize(
    "does", ["play along", "in traffic", "in a form of 16", "watch it played", "the change alone"]
)
def test_in_another_key_all_that_is_played_is_that_one_and_the_lick_is_remembered(
    desk: Desk, does: str
) -> None:
    desk.open("tally-stick")
    desk.picture()
    desk.screen.act(KEY)
    go = desk.screen.act(does)
    assert isinstance(go, Go)
    assert go.what["lick"] == in_key(load("tally-stick"), "A").lick
    assert (go.what["lick"].title, go.what["lick"].key) == ("Tally Stick", "A")
    assert desk.stored == [{"last_lick": "tally-stick"}]


def test_in_another_key_it_is_heard_there_and_what_sounded_in_the_last_one_ends(desk: Desk) -> None:
    desk.open(SUPPER.id)
    desk.screen.act("hear it")
    desk.screen.act(KEY)
    assert Hearing.made[0].calls == ["start", "stop"]
    Hearing.made[0].state = OVER
    desk.screen.act("hear it")
    assert Hearing.made[1].asked[0] == in_key(SUPPER, "D").lick


def test_looking_at_a_lick_does_not_make_it_the_last_one(desk: Desk) -> None:
    desk.open("tally-stick")
    desk.screen.press("escape")
    assert desk.stored == []


def test_back_to_the_list_where_the_lick_has_the_focus(desk: Desk) -> None:
    third = all_licks()[2].id
    for leave in (lambda: desk.screen.act(BACK), lambda: desk.screen.press("escape")):
        desk.focus = f"open {third}"
        desk.open(third)
        desk.picture()
        assert desk.focus == "play along"
        assert leave() in (None, True)
        desk.picture()
        assert desk.focus == f"open {third}"
    assert desk.screen.act("back") == Leave()


def test_letters_are_nothing_to_the_page_of_a_lick(desk: Desk) -> None:
    desk.open("tally-stick")
    desk.picture()
    assert [desk.screen.press(key) for key in ("a", "space", "left", "backspace")] == [False] * 4


# Heard


def test_it_is_heard_at_its_tempo_and_stopped_by_the_same_choice(desk: Desk) -> None:
    desk.open("slab-wood-supper")
    desk.screen.act("faster")
    assert "hear it" in desk.picture().texts
    desk.screen.act("hear it")
    [hearing] = Hearing.made
    assert hearing.asked == (SUPPER, 84.0, desk.house.values, "7")
    assert hearing.calls == ["start"]
    assert "stop" in desk.picture().texts
    desk.screen.act("hear it")
    assert hearing.calls == ["start", "stop"]
    assert "hear it" in desk.picture().texts
    hearing.state = OVER
    desk.screen.act("hear it")
    assert len(Hearing.made) == 2


def test_trouble_is_told_in_full_in_the_place_of_the_words_and_the_tab_stays(desk: Desk) -> None:
    desk.open("slab-wood-supper")
    desk.screen.act("hear it")
    Hearing.made[0].state = MISSING
    picture = desk.picture()
    assert MISSING in words(picture)
    assert SUPPER.trains not in words(picture)
    assert "D7" in picture.texts
    astray = [m for m in picture.marks if isinstance(m, Text) and m.ink == "astray"]
    assert " ".join(mark.text for mark in astray) == MISSING
    desk.screen.press("escape")
    desk.open("tally-stick")
    assert MISSING not in words(desk.picture())


def test_playing_along_waits_until_it_is_silent(desk: Desk) -> None:
    desk.open("slab-wood-supper")
    desk.screen.act("hear it")
    assert desk.screen.act("play along") is None
    [hearing] = Hearing.made
    assert hearing.calls[-1] == "stop"
    assert desk.screen.tick() is None
    hearing.state = OVER
    go = desk.screen.tick()
    assert isinstance(go, Go)
    assert go.to == "play along"
    assert desk.screen.tick() is None  # once


def test_it_does_not_wait_for_ever(desk: Desk) -> None:
    desk.open("slab-wood-supper")
    desk.screen.act("hear it")
    assert desk.screen.act("play along") is None
    desk.sec = SILENT_WITHIN_SEC - 0.01
    assert desk.screen.tick() is None
    desk.sec = SILENT_WITHIN_SEC
    assert isinstance(desk.screen.tick(), Go)


def test_leaving_the_page_or_the_screen_ends_what_sounds(desk: Desk) -> None:
    desk.open("slab-wood-supper")
    desk.screen.act("hear it")
    desk.screen.press("escape")
    assert Hearing.made[0].calls == ["start", "stop"]
    desk.screen.close()
    assert not desk.house.hung
    Hearing.made[0].state = OVER
    desk.open("tally-stick")
    desk.screen.act("hear it")
    Hearing.made[1].hung = True
    desk.screen.close()
    assert desk.house.hung


def test_a_picture_is_drawn_anew_only_where_something_changed(desk: Desk) -> None:
    desk.open("slab-wood-supper")
    one = desk.picture()
    assert desk.picture() is one
    desk.screen.act("faster")
    assert desk.picture() is not one


def test_through_the_frame_by_keys_alone() -> None:
    desk = Desk()
    frame = Frame(desk.house, "licks")
    frame.picture(SMALL)
    for key in "tally":
        frame.press(key)
    frame.picture(SMALL)
    assert frame.focus == "open tally-stick"
    frame.press("enter")
    frame.picture(SMALL)
    assert frame.focus == "play along"
    frame.press("escape")
    frame.picture(SMALL)
    assert frame.focus == "open tally-stick"
    frame.press("escape")
    assert not frame.done  # what was typed is taken back first
    frame.press("escape")
    assert frame.done
