"""The sound check as ink: where it has come to, one large instruction, how loud it is, what was found.

The problem: whoever checks sits with the banjo on the knee and does one thing after another; what to do now
must be read at a glance, what was found so far may be read later. So the steps stand on one line, as notes on
a string: the doubled now-line stands at the one that goes on, those that are over are inked in. Below it the
instruction, then a bar of ink for the level with the words for it, then what was found.

Conventions: levels are in dB of full scale; the bar begins at -60.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from feedback.checking_report import (
    HOT_PEAK_DB,
    SOFT_PEAK_DB,
    bleed_words,
    level_words,
    noise_words,
    trip_words,
)
from feedback.screen.furniture import MARGIN, choices, heading, hint, paragraph
from feedback.screen.lettering import width, wrapped
from feedback.screen.marks import READABLE, Box, Line, Mark, Picture, Ring, Sheet, Text
from feedback.words import counted

if TYPE_CHECKING:
    from feedback.checking_thread import CheckState, Step

STEPS = ("be still", "sweeps", "play", "done")
"""What stands on the line of steps."""

_AT: dict[Step, int] = {
    "opening": 0,
    "still": 0,
    "sweeps": 1,
    "play along": 1,
    "get ready": 2,
    "play": 2,
    "done": 3,
    "failed": 0,
}
_LEAST = ("speaker", "noise", "strokes", "surer", "round trip")
"""Left out in that order where there is no room for all that was found."""

_BAR_FLOOR_DB = -60.0
_STEPS_Y = 128.0
_TITLE_Y, _TITLE_SIZE, _LONG_SIZE = 264.0, 76.0, 54.0
_CHOICES_HIGH = 116.0
_LINE = 1.3 * READABLE
_LINES_MOST = 4
_NAMES_WIDE = 180.0


def check_picture(state: CheckState, sheet: Sheet, focus: str) -> Picture:
    """The sound check at a moment.

    Parameters
    ----------
    state : CheckState
    sheet : Sheet
    focus : str
        What has it.

    Returns
    -------
    Picture
        With spots "again" and "back".
    """
    marks = heading(sheet, "Sound check", state.devices)
    marks += _steps(state, sheet)
    marks += _instruction(state, sheet)
    y = _TITLE_Y + 104.0
    if state.step not in ("opening", "done", "failed"):
        marks += _level(state, sheet, y)
        y += 128.0
    if state.step != "failed":
        marks += _found(state, sheet, y)
    again = "try again" if state.step == "failed" else "once more"
    drawn, spots = choices(sheet, sheet.high - _CHOICES_HIGH, [(again, "again"), ("back", "back")], focus)
    marks += drawn
    marks.append(hint(sheet, "a  once more     esc  back"))
    return Picture(sheet, tuple(marks), tuple(spots))


def found_lines(state: CheckState) -> list[tuple[str, str]]:
    """What was found so far: what it is about, and what is to be said of it; details when all is done."""
    lines: list[tuple[str, str]] = []
    done = state.step == "done"
    if state.noise_db is not None:
        lines.append(("noise", "; ".join(noise_words(state.noise_db))))
    if state.along == "told nothing":
        lines.append(("strokes", "told nothing: too few of them, or not with the click"))
    if state.trip is not None:
        words = trip_words(state.trip)
        measured = state.trip.how in ("chirp", "played")
        if not done or state.trip.how != "chirp":  # else it stands there large
            lines.append(("round trip", words[0] if measured else "; ".join(words)))
        if done and state.trip.how == "chirp" and state.trip.bleed_db is not None:
            lines.append(("speaker", "; ".join(bleed_words(state.trip.bleed_db))))
        elif done and state.along and not state.trip.measured:
            lines.append(("surer", "hold an earpiece against the microphone, and check once more"))
    if state.level is not None:
        lines.append(("level", "; ".join(level_words(state.level))))
    if done and state.stored:
        lines.append(("stored", f"{state.stored}, for these two devices"))
    return lines


def level_word(state: CheckState) -> str:
    """How loud the playing is, in words; empty where the player is not to play."""
    if not _plays(state):
        return ""
    if state.full:
        return "too loud, clipped"
    if state.loudest_db > HOT_PEAK_DB:
        return "too loud"
    return "too soft" if state.loudest_db < SOFT_PEAK_DB else "good"


def _plays(state: CheckState) -> bool:
    """Whether the player is to play just now."""
    return state.step == "play" or (state.step == "play along" and state.at_sec >= state.begins_sec)


def _steps(state: CheckState, sheet: Sheet) -> list[Mark]:
    """The steps on their line, the now-line at the one that goes on."""
    now = _AT[state.step]
    left, right = MARGIN + 80.0, sheet.wide - MARGIN - 80.0
    at = [left + (right - left) * number / (len(STEPS) - 1) for number in range(len(STEPS))]
    marks: list[Mark] = [
        Line(points=((MARGIN, _STEPS_Y), (sheet.wide - MARGIN, _STEPS_Y)), thick=2.0, ink="rule")
    ]
    if now:
        marks.append(Line(points=((MARGIN, _STEPS_Y), (at[now], _STEPS_Y)), thick=5.0, ink="landed"))
    for number, (x, word) in enumerate(zip(at, STEPS, strict=True)):
        over = number < now or state.step == "done"
        here = number == now and state.step not in ("opening", "failed", "done")
        if here:
            for off in (-4.0, 4.0):
                line = ((x + off, _STEPS_Y - 26.0), (x + off, _STEPS_Y + 14.0))
                marks.append(Line(points=line, thick=3.0))
        else:
            fill, edge = ("landed", "landed") if over else ("paper", "rule")
            marks.append(Ring(x=x, y=_STEPS_Y, radius=9.0, fill=fill, edge=edge, thick=3.0))
        ink = "landed" if over else "ink" if here else "faint"
        text = "play along" if state.step == "play along" and here else word
        marks.append(Text(x=x, y=_STEPS_Y + 44.0, text=text, ink=ink, bold=here, anchor="center"))
    return marks


def _instruction(state: CheckState, sheet: Sheet) -> list[Mark]:
    """What to do now, large, and a line about it."""
    title, about = instruction(state)
    wide = sheet.wide - 2 * MARGIN
    bad = state.step == "failed"
    size = _TITLE_SIZE if width(title, _TITLE_SIZE, True) <= wide else _LONG_SIZE
    marks: list[Mark] = [
        Text(
            x=MARGIN,
            y=_TITLE_Y,
            text=title,
            size=size,
            ink="astray" if bad else "ink",
            bold=True,
        )
    ]
    lines, _ = paragraph(MARGIN, _TITLE_Y + 50.0, wide, about, size=32.0, most=6 if bad else 1)
    return marks + lines


def instruction(state: CheckState) -> tuple[str, str]:
    """What the player is to do, and what there is to say about it in one line."""
    left = math.ceil(state.left_sec)
    seconds = f"{counted(left, 'second')} more"
    match state.step:
        case "opening":
            said = "one moment", "microphone and output are opened"
        case "failed":
            said = "it cannot go on", state.news
        case "still":
            said = "keep still", f"how loud is the room? {seconds}"
        case "sweeps":
            said = "keep still", "quiet sweeps go out, and come back"
        case "play along" if state.at_sec < state.begins_sec:
            begins = counted(math.ceil(state.begins_sec - state.at_sec), "second")
            said = "play along", f"no sweep came back; clicks come in {begins}"
        case "play along":
            said = "strike with each click", "one open string: one, two, rest"
        case "get ready":
            said = "get ready to play", f"in {counted(left, 'second')}, up to your loudest"
        case "play" if state.left_sec > 0.0:
            said = "play, up to your loudest", seconds
        case "play":
            said = "enough, thank you", "it is listened to"
        case _:
            said = _told(state)
    return said


def _told(state: CheckState) -> tuple[str, str]:
    """How the check came out: the round trip, and how sure that is."""
    trip = state.trip
    if trip is None:
        return "done", ""
    title = f"round trip {1e3 * trip.trip_sec:.1f} ms"
    unsure = f"{1e3 * trip.unsure_sec:.1f} ms"
    if trip.how == "chirp":
        return title, f"measured within {unsure}, {trip.agreed} of {trip.sent} sweeps agree"
    if trip.how == "played":
        if not trip.measured:
            return title, "by playing along: the system's own word stays"
        return title, f"by playing along, within {unsure} at best"
    return title, "not measured: play along is judged by the system's word"


def _level(state: CheckState, sheet: Sheet, y: float) -> list[Mark]:
    """How loud it is: ink on a line, the loudest as a nick, and where it is to be."""
    left, right = MARGIN, sheet.wide - MARGIN

    def x(level_db: float) -> float:
        share = min(1.0, max(0.0, 1.0 - level_db / _BAR_FLOOR_DB))
        return left + share * (right - left)

    word = level_word(state)
    good = word in ("", "good")
    ink = "ink" if good else "astray"
    marks: list[Mark] = [Box(x=left, y=y, wide=right - left, high=44.0, fill="band", edge="rule")]
    if state.step in ("play along", "get ready", "play"):
        low, high = x(SOFT_PEAK_DB), x(HOT_PEAK_DB)
        marks += [Line(points=((at, y - 8.0), (at, y + 52.0)), thick=3.0) for at in (low, high)]
        marks.append(Text(x=(low + high) / 2.0, y=y + 84.0, text="good", ink="faint", anchor="center"))
        marks.append(Text(x=left, y=y + 84.0, text="too soft", ink="faint"))
        marks.append(Text(x=right, y=y + 84.0, text="too loud", ink="faint", anchor="right"))
    else:
        marks.append(Text(x=left, y=y + 84.0, text="what the microphone hears", ink="faint"))
    marks.append(Box(x=left, y=y + 6.0, wide=max(2.0, x(state.level_db) - left), high=32.0, fill=ink))
    loudest = x(state.loudest_db)
    marks.append(Box(x=min(loudest, right - 8.0), y=y - 4.0, wide=8.0, high=52.0, fill=ink))
    if word:
        marks.append(Text(x=right, y=y - 18.0, text=word, size=40.0, ink=ink, bold=True, anchor="right"))
    return marks


def _found(state: CheckState, sheet: Sheet, y: float) -> list[Mark]:
    """What was found, from a height down, as far as there is room."""
    wide = sheet.wide - 2 * MARGIN - _NAMES_WIDE
    room = int((sheet.high - _CHOICES_HIGH - 14.0 - y) / _LINE) + 1
    blocks: dict[str, list[str]] = {
        name: wrapped(text, READABLE, wide)[:_LINES_MOST] for name, text in found_lines(state)
    }
    for name in _LEAST:
        if sum(map(len, blocks.values())) > room:
            blocks.pop(name, None)
    marks: list[Mark] = []
    for name, lines in blocks.items():
        marks.append(Text(x=MARGIN, y=y, text=name, ink="faint"))
        for line in lines:
            marks.append(Text(x=MARGIN + _NAMES_WIDE, y=y, text=line))
            y += _LINE
    return marks
