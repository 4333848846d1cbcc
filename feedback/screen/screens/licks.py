"""The licks: a list that is narrowed by filters and typing, and each lick's own page.

What is heard over the loudspeaker goes on beside the window (`feedback.hearing_out`); where a lick is to be
played along with while it sounds, that ends first, as some sound cards serve one at a time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from feedback.another_key import keys_of
from feedback.hearing_out import HearingOut
from feedback.screen.marks import Picture, Sheet
from feedback.screen.staging import Go, House, Leave, Move
from feedback.screen.views.lick import BACK, KEY, LickState, lick_picture
from feedback.screen.views.licks import FURTHER, ListState, licks_picture, page_of, pages_of
from feedback.screen.views.offered import climbed_from, first_tempo, remember
from feedback.screen.views.search import FILTERS, LONGEST, Search
from routines.library import load
from routines.lick import Lick
from routines.tempo import FASTEST_HALF_BPM, SLOWEST_HALF_BPM

STEP_HALF_BPM = 4.0
"""How far one press moves the tempo."""

SILENT_WITHIN_SEC = 1.5
"""So long playing along waits at most for what still sounds to be silent."""

_PLAYS: dict[str, dict[str, str]] = {
    "play along": {},
    "in traffic": {"way": "traffic"},
    "in a form of 8": {"way": "form 8"},
    "in a form of 16": {"way": "form 16"},
    "watch it played": {"source": "sim"},
    "the change alone": {"loop": "change"},
}
_SIDES = {"left": -1, "right": 1}
_TEMPOS = {"slower": -STEP_HALF_BPM, "faster": STEP_HALF_BPM}

Hearer = Callable[..., HearingOut]


def enter(house: House, what: Any = None) -> Licks:
    """The licks; where `what` is a Lick, the list is turned to it."""
    return Licks(house, what if isinstance(what, Lick) else None)


class Licks:
    """The list, or the page of one lick.

    Parameters
    ----------
    house : House
    lick : Lick, optional
        Where the list is turned to.
    hearer : callable, optional
        Stands for `HearingOut`.
    """

    def __init__(self, house: House, lick: Lick | None = None, hearer: Hearer = HearingOut) -> None:
        self._house, self._hearer = house, hearer
        self._list = ListState(first="" if lick is None else lick.id)
        self._turned = lick is None
        self._typed = False
        self._page: LickState | None = None
        self._hearing: HearingOut | None = None
        self._then: tuple[Go, float] | None = None
        self._sheet, self._focus = Sheet(), ""
        self._drawn: tuple[object, Picture] | None = None

    def picture(self, sheet: Sheet, focus: str) -> Picture:
        """The list or the page; drawn anew only where something has changed."""
        self._sheet, self._focus = sheet, focus
        if not self._turned:
            self._list = replace(self._list, page=page_of(self._list.first, self._list.search, sheet))
            self._turned = True
        if self._page is not None and self._hearing is not None:
            self._page = replace(self._page, hearing=self._hearing.state)
        state = (self._list, self._page, sheet, focus)
        if self._drawn is None or self._drawn[0] != state:
            made = (
                licks_picture(self._list, sheet, focus)
                if self._page is None
                else lick_picture(self._page, sheet, focus)
            )
            self._drawn = (state, made)
        return self._offered(self._drawn[1], focus)

    def _offered(self, picture: Picture, focus: str) -> Picture:
        """What was typed is meant for the rows: for one look nothing else is there to have the focus."""
        typed, self._typed = self._typed, False
        rows = tuple(spot for spot in picture.spots if _is_row(spot.does))
        return replace(picture, spots=rows) if typed and rows and not _is_row(focus) else picture

    def act(self, does: str) -> Move:
        """What was chosen, in the list or on the page."""
        self._focus = does
        return self._in_list(does) if self._page is None else self._on_page(does, self._page)

    def press(self, key: str) -> Move | bool:
        """In the list typing narrows it, and left and right turn a filter or the page; escape goes back."""
        if self._page is not None:
            return self._press_on_page(key, self._page)
        if key in _SIDES and self._focus != "back":
            self._to_the_side(_SIDES[key])
            return True
        typed = _typed(self._list.search.typed, key)
        if typed is None:
            return False
        self._look_for(replace(self._list.search, typed=typed))
        self._typed = True
        return True

    def tick(self) -> Move:
        """Go on to what was chosen as soon as it is silent."""
        if self._then is None:
            return None
        go, until_sec = self._then
        if self._sounds() and self._house.clock() < until_sec:
            return None
        self._then = None
        return go

    def close(self) -> None:
        """End what sounds."""
        if self._hearing is not None and not self._hearing.ended(SILENT_WITHIN_SEC / 3):
            self._house.hung = True

    def _in_list(self, does: str) -> Move:
        verb, _, name = does.partition(" ")
        if does == "back":
            return Leave()
        if verb == "open":
            lick = load(name)
            self._list = replace(self._list, first=name)
            if not self._sounds():  # what went wrong with another lick is not told here
                self._hearing = None
            self._page = self._begun(LickState(lick=lick, tempo_half_bpm=first_tempo(lick)))
        elif does == "find all":
            self._look_for(Search())
        elif verb == "filter" and name in FILTERS:
            self._look_for(self._list.search.cycled(name))
        elif does == FURTHER:
            self._turn(1)
        return None

    def _to_the_side(self, by: int) -> None:
        verb, _, name = self._focus.partition(" ")
        if verb == "filter":
            self._look_for(self._list.search.cycled(name, by))
        else:
            self._turn(by)

    def _turn(self, by: int) -> None:
        pages = pages_of(self._list.search, self._sheet)
        page = min(self._list.page, pages - 1) + by
        self._list = replace(self._list, page=page % pages, first="")

    def _look_for(self, search: Search) -> None:
        self._list = ListState(search=search)

    def _on_page(self, does: str, page: LickState) -> Move:
        if does == BACK:
            self._leave_page()
        elif does == "hear it":
            self._hear(page)
        elif does == KEY:
            self._move(page, 1)
        elif does in _TEMPOS:
            tempo = min(max(page.tempo_half_bpm + _TEMPOS[does], SLOWEST_HALF_BPM), FASTEST_HALF_BPM)
            self._page = replace(page, tempo_half_bpm=tempo, climbs=False)
        elif does.startswith("bars "):
            self._page = replace(page, first_bar=int(does.removeprefix("bars ")))
        elif does in _PLAYS:
            return self._play(page, _PLAYS[does])
        return None

    def _press_on_page(self, key: str, page: LickState) -> bool:
        if key in _SIDES and self._focus == KEY:
            self._move(page, _SIDES[key])
            return True
        return self._leave_page() if key == "escape" else False

    def _move(self, page: LickState, by: int) -> None:
        """To the next key; what sounds is in another one."""
        keys = keys_of(page.lick)
        self._silence()
        page = replace(page, key=keys[(keys.index(page.here.lick.key) + by) % len(keys)], first_bar=1)
        self._page = self._begun(page) if page.climbs else page

    def _begun(self, page: LickState) -> LickState:
        """The page at the tempo at which the ladder begins, where one is climbed."""
        tempo = climbed_from(self._house, page.here.lick)
        return page if tempo is None else replace(page, tempo_half_bpm=tempo, climbs=True)

    def _play(self, page: LickState, more: dict[str, str]) -> Move:
        remember(self._house, page.lick)
        tempo = None if page.climbs and "source" not in more else page.tempo_half_bpm
        go = Go("play along", {"lick": page.here.lick, "tempo_half_bpm": tempo, **more})
        self._silence()
        if not self._sounds():
            return go
        self._then = (go, self._house.clock() + SILENT_WITHIN_SEC)
        return None

    def _hear(self, page: LickState) -> None:
        if self._sounds():
            self._silence()
            return
        self._hearing = self._hearer(
            page.here.lick, page.tempo_half_bpm, self._house.values, self._house.device
        )
        self._hearing.start()

    def _sounds(self) -> bool:
        return self._hearing is not None and self._hearing.goes_on

    def _silence(self) -> None:
        if self._hearing is not None:
            self._hearing.stop()

    def _leave_page(self) -> bool:
        self._silence()
        self._page, self._then = None, None
        return True


def _is_row(does: str) -> bool:
    return does.startswith("open ") or does == "find all"


def _typed(text: str, key: str) -> str | None:
    """What is typed after a key; None where it types nothing."""
    if key == "backspace":
        return text[:-1] if text else None
    if key == "escape":
        return "" if text else None
    if key == "space":
        return f"{text} " if text and not text.endswith(" ") else None
    if len(key) != 1 or not key.isprintable() or key == " " or len(text) >= LONGEST:
        return None
    return text + key
