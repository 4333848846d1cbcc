"""What can be set, page by page: each row with its value, and in a fixed place what the chosen one means.

Conventions: a row is called by its setting's name, unless `LABELS` knows better; the unit of its number
follows from that name. A setting that is on none of the `PAGES` stands under "more".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from feedback.screen.furniture import HEADING, MARGIN, choice, choices, heading, hint, paragraph
from feedback.screen.lettering import fitted, width
from feedback.screen.marks import READABLE, Box, Line, Mark, Picture, Sheet, Spot, Text
from feedback.setting_kinds import as_text
from feedback.setting_rows import SETTINGS

MOST = 5
"""So many rows stand on a page at most."""

PAGES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("playing", ("source", "heard", "window", "spread_limit_ms", "rest_sec")),
    ("memory", ("player", "journal", "ladder")),
    ("screen", ("look", "motion", "neck", "full_screen")),
    ("pedal and cue", ("pedal_next", "pedal_choose", "cue")),
    ("sound", ("click_db", "backing_db", "model_db", "bleed")),
    ("sound card", ("latency", "rate", "block", "channel", "round_trip_ms")),
)
"""Name of a page, and its settings in order."""

NOT_SHOWN = ("last_lick",)
"""Settings that are set by what the player does."""

LABELS: Mapping[str, str] = {
    "source": "who plays",
    "heard": "simulated player heard",
    "window": "landing window",
    "rest_sec": "rest between turns",
    "journal": "passes remembered",
    "ladder": "tempo ladder",
    "look": "paper",
    "motion": "lane",
    "neck": "picking hand",
    "pedal_next": "pedal: next choice",
    "pedal_choose": "pedal: choose",
    "cue": "cue on the fifth string",
    "click_db": "click level",
    "backing_db": "backing level",
    "model_db": "model level",
    "bleed": "own sound heard",
    "rate": "sample rate",
    "channel": "input channel",
    "sure": "listener believed",
    "blamed": "listener blames",
    "lean_unsure_ms": "lean named beyond",
    "swallowed_db": "swallowed under",
    "swallowed_slurred_db": "slurred seven under",
}
"""Settings that are not called by their names."""

_WORDS: Mapping[tuple[str, str], str] = {
    ("source", "mic"): "microphone",
    ("source", "sim"): "simulated player",
    ("look", "paper"): "light",
    ("look", "night"): "night",
    ("neck", "right"): "right",
    ("neck", "left"): "left",
    ("bleed", "out"): "taken out",
    ("bleed", "in"): "stays in",
    ("rate", "device"): "the device's own",
}
_UNITS = {"db": "dB", "ms": "ms", "sec": "s"}
_UNITS_OF = {"latency": "s", "rate": "Hz", "block": "frames"}
_ROWS_Y = HEADING + 8.0
_ROW, _GAP = 60.0, 8.0
_BUTTON = 76.0
_SIZE = 32.0
_VALUE = 0.6  # of the room of a row, at most
_BELOW = 4 * 1.3 * READABLE + 44.0 + 64.0 + 30.0  # what the chosen one means, choices, hints
_HINT = "left and right change what is chosen; numbers can be typed; escape: back"
_LEARN = "press the pedal now"


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsState:
    """What the settings screen shows.

    Attributes
    ----------
    values : mapping
        As they hold now.
    page : int
        From 0.
    learning : str
        The setting whose key is to be pressed now; empty for none.
    typed : str
        What is typed of a number so far, for the row that has the focus.
    overridden : mapping
        Settings that a variable of the environment sets, with its name.
    news : str
        What is to be read before all else: why something was not stored.
    """

    values: Mapping[str, str | float]
    page: int = 0
    learning: str = ""
    typed: str = ""
    overridden: Mapping[str, str] = field(default_factory=dict)
    news: str = ""


def all_pages() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every page: those of `PAGES`, then what no page has."""
    placed = {name for _, names in PAGES for name in names} | set(NOT_SHOWN)
    rest = [name for name in SETTINGS if name not in placed]
    return (*PAGES, *(("more", tuple(rest[k : k + MOST])) for k in range(0, len(rest), MOST)))


def label_of(name: str) -> str:
    """What a setting is called."""
    words = name.split("_")
    return LABELS.get(name, " ".join(words[:-1] if words[-1] in _UNITS else words))


def value_words(name: str, value: str | float) -> str:
    """A value for a reader, with its unit."""
    text = as_text(value)
    if isinstance(value, str):
        return _WORDS.get((name, text), text)
    unit = _UNITS_OF.get(name, _UNITS.get(name.rpartition("_")[2], ""))
    return f"{text.replace('-', '−')} {unit}".rstrip()


def name_in(does: str) -> str:
    """The setting that a spot is about; empty where it is about none."""
    verb, _, name = does.partition(" ")
    return name if verb in ("set", "less", "more") and name in SETTINGS else ""


def settings_picture(state: SettingsState, sheet: Sheet, focus: str) -> Picture:
    """The settings.

    Parameters
    ----------
    state : SettingsState
    sheet : Sheet
    focus : str
        What has the focus: "set NAME", "less NAME", "more NAME", "page before", "next page" or "back".
    """
    pages = all_pages()
    title, names = pages[state.page % len(pages)]
    marks = heading(sheet, "Settings", f"{title}, page {state.page % len(pages) + 1} of {len(pages)}")
    spots: list[Spot] = []
    buttons: list[Spot] = []
    pitch = min(96.0, (sheet.high - _ROWS_Y - _BELOW) / MOST)
    for number, name in enumerate(names):
        row = _Row(state, name, sheet, _ROWS_Y + number * pitch, pitch - _GAP)
        drawn, spot, more = row.drawn(focus)
        marks += drawn
        spots.append(spot)
        buttons += more
    marks += _about(state, sheet, _ROWS_Y + MOST * pitch + 34.0, name_in(focus))
    drawn, others = choices(
        sheet,
        sheet.high - 44.0 - 64.0,
        [("page before", "page before"), ("next page", "next page"), ("back", "back")],
        focus,
    )
    marks += [*drawn, hint(sheet, _HINT)]
    return Picture(sheet, tuple(marks), (*spots, *others, *buttons))


def _about(state: SettingsState, sheet: Sheet, y: float, name: str) -> list[Mark]:
    """What is to be known of the setting that is chosen, or what went wrong."""
    wide = sheet.wide - 2 * MARGIN
    if state.news:
        return paragraph(MARGIN, y, wide, state.news, ink="astray", most=4)[0]
    if state.learning:
        words = (
            f"Press the pedal for “{label_of(state.learning).rpartition(': ')[2]}”; escape keeps the old key."
        )
        return paragraph(MARGIN, y, wide, words, most=4)[0]
    if not name:
        return []
    row = SETTINGS[name]
    said = f"{row.about[0].upper()}{row.about[1:]}."
    if name in state.overridden:
        said += f" Set by {state.overridden[name]}, which goes before what is stored here."
    elif row.learnt:
        said += " Choose this row, then press the pedal."
    elif row.free:
        said += f" Type a name, then enter. A change holds {row.holds_from}."
    elif row.holds_from:
        said += f" A change holds {row.holds_from}."
    return paragraph(MARGIN, y, wide, said, most=4)[0]


class _Row:
    """One setting on its page."""

    def __init__(self, state: SettingsState, name: str, sheet: Sheet, y: float, high: float) -> None:
        self._state, self._name, self._y, self._high = state, name, y, high
        row = SETTINGS[name]
        self._fixed = name in state.overridden
        self._stepped = not row.learnt and not row.free and not self._fixed
        self._signs = "◀▶" if row.step is None else "−+"
        self._right = sheet.wide - MARGIN
        self._wide = sheet.wide - 2 * MARGIN - 2 * (_BUTTON + 10.0)

    def drawn(self, focus: str) -> tuple[list[Mark], Spot, list[Spot]]:
        """Its marks, its own spot, and those of its two buttons."""
        does = f"set {self._name}"
        on = focus == does
        spot = Spot(
            x=MARGIN,
            y=self._y,
            wide=self._wide,
            high=self._high,
            does=does,
            says=f"{label_of(self._name)}: {self._value()}",
        )
        foot = self._y + self._high + _GAP / 2
        marks: list[Mark] = [Line(points=((MARGIN, foot), (self._right, foot)), ink="rule")]
        if on:
            marks += _inked(spot)
        marks += self._texts(on, name_in(focus) == self._name)
        buttons = []
        if self._fixed:
            y, middle = self._y + self._high / 2 + 0.36 * READABLE, self._right - _BUTTON - 5.0
            marks.append(Text(x=middle, y=y, text="fixed", ink="faint", anchor="center"))
        if self._stepped:
            for number, (sign, verb) in enumerate(zip(self._signs, ("less", "more"), strict=True)):
                x = self._right - (2 - number) * _BUTTON - (1 - number) * 10.0
                drawn, button = choice(
                    x, self._y, _BUTTON, sign, f"{verb} {self._name}", focus, high=self._high, size=_SIZE
                )
                marks += drawn
                buttons.append(button)
        return marks, spot, buttons

    def _texts(self, on: bool, chosen: bool) -> list[Mark]:
        ink, under = ("paper", "chosen") if on else ("ink", "paper")
        y = self._y + self._high / 2 + 0.36 * _SIZE
        room = self._wide - 32.0 - 16.0
        typed = f"{self._state.typed}_" if chosen and self._state.typed else ""
        value = fitted(typed or self._value(), _SIZE, _VALUE * room, bold=True)
        label = fitted(label_of(self._name), _SIZE, room - width(value, _SIZE, True))
        return [
            Text(x=MARGIN + 16.0, y=y, text=label, size=_SIZE, ink=ink, on=under),
            Text(
                x=MARGIN + self._wide - 16.0,
                y=y,
                text=value,
                size=_SIZE,
                ink=ink,
                on=under,
                bold=True,
                anchor="right",
            ),
        ]

    def _value(self) -> str:
        if self._state.learning == self._name:
            return _LEARN
        return value_words(self._name, self._state.values[self._name])


def _inked(spot: Spot) -> list[Mark]:
    inner = {"x": spot.x + 5, "y": spot.y + 5, "wide": spot.wide - 10, "high": spot.high - 10}
    return [
        Box(x=spot.x, y=spot.y, wide=spot.wide, high=spot.high, fill="chosen", round=6.0),
        Box(**inner, fill="", edge="paper", round=4.0),
    ]
