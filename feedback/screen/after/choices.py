"""What can be done next, after a turn: each choice with the tempo that it would give."""

from __future__ import annotations

from feedback.nexttempo import eased, pushed
from feedback.playstate import PlayState
from feedback.screen.furniture import MARGIN
from feedback.screen.lettering import width
from feedback.screen.marks import READABLE, Box, Mark, Sheet, Spot, Text

CHOICES_HIGH = 92.0
"""Height of the row."""

_WORD = 30.0
_GAP = 14.0


def tempo_next(state: PlayState) -> float:
    """What is played once more: the tempo that the ladder says, where one is climbed."""
    return state.request.tempo_half_bpm if state.ladder is None else state.ladder.tempo_half_bpm


def next_choices(state: PlayState) -> list[tuple[str, str, str]]:
    """What is offered: the word, what it would give, and what choosing it asks for."""
    tempo = tempo_next(state)
    alone = state.ladder is not None and state.ladder.unit == "change"
    rows = [
        ("once more", f"{'the change,' if alone else 'at'} {_tempo(tempo)}", "once more"),
        ("ease", f"to {_tempo(eased(tempo))}", "ease"),
        ("push", f"to {_tempo(pushed(tempo))}", "push"),
        ("another", "lick", "another"),
    ]
    if state.request.span is not None:
        rows.append(("the whole", "lick", "the whole lick"))
    elif state.offer is not None:
        rows.append(("the change", f"alone, {_tempo(state.offer.tempo_half_bpm)}", "the change alone"))
    return rows


def choice_row(sheet: Sheet, y: float, state: PlayState, focus: str) -> tuple[list[Mark], list[Spot]]:
    """The choices side by side over the whole width, each as wide as its words and its share of the rest.

    Parameters
    ----------
    sheet : Sheet
    y : float
        Upper edge of the row.
    state : PlayState
    focus : str
        What has the focus.
    """
    rows = next_choices(state)
    needs = [max(width(word, _WORD, True), width(gives, READABLE, True)) for word, gives, _ in rows]
    spare = (sheet.wide - 2 * MARGIN - sum(needs) - _GAP * (len(rows) - 1)) / len(rows)
    marks: list[Mark] = []
    spots: list[Spot] = []
    x = MARGIN
    for (word, gives, does), need in zip(rows, needs, strict=True):
        spot = Spot(x=x, y=y, wide=need + spare, high=CHOICES_HIGH, does=does, says=f"{word} {gives}")
        marks += _box(spot, word, gives, does == focus)
        spots.append(spot)
        x += need + spare + _GAP
    return marks, spots


def _box(spot: Spot, word: str, gives: str, on: bool) -> list[Mark]:
    marks: list[Mark] = [
        Box(
            x=spot.x,
            y=spot.y,
            wide=spot.wide,
            high=spot.high,
            fill="chosen" if on else "band",
            edge="rule",
            round=6.0,
        )
    ]
    if on:
        inner = (spot.wide - 10, spot.high - 10)
        marks.append(
            Box(x=spot.x + 5, y=spot.y + 5, wide=inner[0], high=inner[1], fill="", edge="paper", round=4.0)
        )
    for text, size, down, bold in ((word, _WORD, 40.0, True), (gives, READABLE, 76.0, False)):
        marks.append(
            Text(
                x=spot.x + spot.wide / 2,
                y=spot.y + down,
                text=text,
                size=size,
                ink="paper" if on else "ink",
                on="chosen" if on else "band",
                bold=bold or on,
                anchor="center",
            )
        )
    return marks


def _tempo(half_bpm: float) -> str:
    return f"{round(half_bpm, 1):g}"
