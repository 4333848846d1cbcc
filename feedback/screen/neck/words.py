"""The words around a neck: which chord, how the neck is tuned, what each shape is and where it goes."""

from __future__ import annotations

from feedback.chord_told import VERBS, Drone
from feedback.screen.furniture import MARGIN
from feedback.screen.lettering import signed, width
from feedback.screen.marks import READABLE, Mark, Sheet, Text
from feedback.screen.neck.shapes import Size, drawn
from feedback.screen.neck.state import NeckState

HEAD_HIGH = 100.0
"""What the heading takes of a sheet."""

_FUNCTIONS = {"seven": "♭7", "third": "3rd", "fifth": "5th", "second": "2nd", "fourth": "4th", "sixth": "6th",
              "ninth": "9th", "major seven": "major 7", "diminished seven": "diminished 7"}  # fmt: skip
_LARGE, _SMALLER = (68.0, 40.0), (54.0, 30.0)
_APART = 28.0
_LINE = 42.0
_SAMPLE = Size(34.0, 28.0)


def signed_tuning(tuning: str) -> str:
    """A tuning's name with real sharps: "f♯DF♯AD"."""
    return tuning.replace("#", "♯")


def signed_chord(symbol: str) -> str:
    """A chord's name with real signs, in its kind too: "Bm7♭5"."""
    return signed(symbol).replace("b5", "♭5")


def function_word(function: str) -> str:
    """What a player calls a function: "♭7", "3rd", "root"."""
    return _FUNCTIONS.get(function, function)


def head(state: NeckState, sheet: Sheet) -> list[Mark]:
    """The chord as the hand holds it, what follows, and on the right what sounds on which neck."""
    name = signed_chord(state.shape.symbol)
    follows = state.next_shape
    then = "" if follows is None else f"then {signed_chord(follows.symbol)}"
    capo = f"capo {state.capo} · " if state.capo else ""
    sounds = f"sounds {signed_chord(state.symbol)}" if state.capo else ""
    for tuned, large, small in (
        (f"{capo}tuning {signed_tuning(state.tuning)}", *_LARGE),
        (f"{capo}{signed_tuning(state.tuning)}", *_LARGE),
        (f"{capo}{signed_tuning(state.tuning)}", *_SMALLER),
    ):
        after = MARGIN + width(name, large, True) + _APART
        room = sheet.wide - MARGIN - after - (width(then, small) + _APART if then else 0.0)
        if max(width(tuned, READABLE), width(sounds, READABLE, True)) <= room:
            break
    marks: list[Mark] = [Text(x=MARGIN, y=76.0, text=name, size=large, bold=True)]
    if then:
        marks.append(Text(x=after, y=76.0, text=then, size=small, ink="faint"))
    right = sheet.wide - MARGIN
    if sounds:
        marks.append(Text(x=right, y=38.0, text=sounds, bold=True, anchor="right"))
    return [*marks, Text(x=right, y=76.0, text=tuned, ink="faint", anchor="right")]


def legend(state: NeckState, sheet: Sheet, bottom: float) -> tuple[float, list[Mark]]:
    """What the shapes are, in lines that end at a height; the height at which they begin, and their marks."""
    entries = [
        (width(text, READABLE, bold) + (_SAMPLE.wide + 12 if function else 0.0), function, text, bold)
        for function, text, bold in _entries(state)
    ]
    lines: list[list[tuple[float, str, str, bool]]] = [[]]
    for entry in entries:
        if lines[-1] and sum(e[0] + 40 for e in lines[-1]) + entry[0] > sheet.wide - 2 * MARGIN:
            lines.append([])
        lines[-1].append(entry)
    top = bottom - _LINE * len(lines)
    marks: list[Mark] = []
    for number, line in enumerate(lines):
        x, y = MARGIN, top + _LINE * number + 32
        for wide, function, text, bold in line:
            begin = x
            if function:
                marks += drawn(function, x + _SAMPLE.wide / 2, y - 10, _SAMPLE, "", reached=False)
                begin += _SAMPLE.wide + 12
            marks.append(Text(x=begin, y=y, text=text, bold=bold))
            x += wide + 40
    return top, marks


def facts(state: NeckState) -> list[str]:
    """What the picture says, a line a fact."""
    return [text for _, text, _ in _entries(state)]


def _entries(state: NeckState) -> list[tuple[str, str, bool]]:
    """Function, words, and whether they stand out."""
    goes = {move.function: move for move in state.moves}
    follows = state.next_shape
    rows = []
    for function, tone in state.shape.tones:
        said = signed(f"{function_word(function)} {tone}")
        move = goes.get(function)
        if move is not None:
            root = move.to_function == "root"
            there = "root" if root else f"{function_word(move.to_function)} of {signed_chord(move.chord)}"
            said += signed(f" {VERBS[move.half_steps]} to {move.to_tone}, ") + there
        elif function == "seven" and follows is not None and follows.function_of(tone.pitch_class):
            said += f" is held, in {signed_chord(follows.symbol)}"
        rows.append((function, said, function == "seven"))
    order = ["seven", "third"]
    rows.sort(key=lambda row: order.index(row[0]) if row[0] in order else 2)
    return [*rows, ("", _drone_words(state.drone, state.shape.symbol), False)]


def _drone_words(drone: Drone, symbol: str) -> str:
    """A drone above a tone only rubs on it, as g does over F#; one under it takes its place, as g over G#."""
    said = [f"what {move.from_tone} {VERBS[move.half_steps]} to" for move in drone.reached_by]
    if drone.function is not None:
        said.insert(0, f"the {function_word(drone.function)}")
    if not said:
        said = [
            f"{'rubs on' if (drone.tone.pitch_class - tone.pitch_class) % 12 == 1 else 'clashes with'} {tone}"
            for tone in drone.rubs
        ]
    return signed(
        f"open fifth string {drone.tone}: {', '.join(said) or 'no tone of ' + signed_chord(symbol)}"
    )
