"""Small licks and what a hand made of them, as short text: material for the tests of the judges.

A lick is eighths parted by blanks, bar lines where they belong, and changes as `routines.changes` reads them:

    lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G")

    3/2        string 3, fret 2                   5/0+1/0    a pinch
    .          nothing begins here                h2/1       hammered in its own eighth (p pull-off, s slide)
    2/0h2/1    hammered half an eighth later      3/2s3/4    a slide inside the eighth, one stroke
    2/1c2      choked up to the pitch of fret 2   2/0:r      marked: r resolve, 3 third, 7 the fifth string is
                                                             the seven, x colour, * core

What was played is the lick itself, less and plus slips parted by semicolons:

    "all -9ms; b1e6 -51ms; b1e3 =2/0; b2e1 out; add 1/0 b1e7.5"

    where      all, odd, even, b1e6 (bar 1, eighth 6), b2e1@2 (only its voice on string 2), b1e7-b2e1;
               bar 0 is the pickup
    what       out; -51ms or +0.5e (later or earlier); =2/0 or =59 (another pitch); -9dB; sure 0.1;
               arrives 0.8e and peaks 130 (of a choke or slide: how long it takes, how many cents it goes);
               whole (the ear hears a choke or slide as one plain note where it begins)
    each 5 -3  how late the targets come, one after the other, in ms
    add        a note of its own: pitch, place, and the same words
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedback.grid import EIGHTH_QUARTERS, Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Circumstances, Judged, judge_pass
from listener.notes import NoteEvent
from routines.asks import Marks, read_asks
from routines.changes import parse_changes
from routines.chords import ChordSpan
from routines.lick import QUARTERS_A_BAR, Lick, TargetNote, Technique
from routines.neck import Neck

TEMPO = 150.0
"""Half notes a minute: an eighth is 100 ms, W is 22 ms (slurred 33), the due note speaks after 33 ms."""

START_SEC = 1.0

_SLURS: dict[str, Technique] = {"h": "hammer", "p": "pull", "s": "slide"}
_MARKS = {"*": "core", "r": "resolve", "3": "third", "7": "fifth_seven", "x": "colour"}
_TOKEN = re.compile(
    r"(?P<slur>[hps])?(?P<string>\d)/(?P<fret>\d+)"
    r"(?:(?P<inside>[hps])\d/(?P<to>\d+)|c(?P<choke>\d+))?(?::(?P<marks>[*r37x]+))?"
)
_PLACE = re.compile(r"b(?P<bar>\d+)e(?P<eighth>[\d.]+)(?:@(?P<string>\d))?")


def lick(
    text: str,
    changes: str,
    *,
    meter: str = "2/2",
    pickup_eighths: int = 0,
    neck: Neck | None = None,
    name: str = "small",
) -> Lick:
    """Build a lick from its eighths and its changes; a pickup is the first so many eighths of the text."""
    neck = neck or Neck()
    chords = parse_changes(changes, meter=meter)
    end = chords[-1].end_quarters
    typed: list[tuple[float, str]] = []
    quarters = -pickup_eighths * EIGHTH_QUARTERS
    for eighth in text.split():
        if eighth == "|":
            if quarters % QUARTERS_A_BAR[meter]:
                raise ValueError(f"{text!r}: a bar line at {quarters:g} quarters")
            continue
        typed += [(quarters, token) for token in eighth.split("+") if token != "."]
        quarters += EIGHTH_QUARTERS
    if quarters > end:
        raise ValueError(f"{text!r} ends at {quarters:g} quarters, {changes!r} at {end:g}")
    notes: list[TargetNote] = []
    marked: dict[str, set[float]] = {name: set() for name in _MARKS.values()}
    for onset, token in typed:
        found = _TOKEN.fullmatch(token)
        if found is None:
            raise ValueError(f"{token!r} is no note")
        notes += _targets(found, onset, neck, notes)
        for mark in found["marks"] or "":
            marked[_MARKS[mark]].add(onset)
    notes.sort(key=lambda note: (note.onset_quarters, note.midi, -note.string))
    onsets = sorted({note.onset_quarters for note in notes})
    following = dict(zip(onsets, [*onsets[1:], end], strict=False))
    if pickup_eighths:
        first = chords[0]
        chords = (
            ChordSpan(-pickup_eighths * EIGHTH_QUARTERS, first.end_quarters, first.chord),
            *chords[1:],
        )
    asked = read_asks(
        [replace(n, duration_quarters=following[n.onset_quarters] - n.onset_quarters) for n in notes],
        chords,
        QUARTERS_A_BAR[meter],
        Marks(**{name: frozenset(places) for name, places in marked.items()}),
    )
    return Lick(
        id=name,
        title=name.title(),
        key="G",
        trains="",
        file=name,
        kind="lick",
        meter=meter,
        bars=round(end / QUARTERS_A_BAR[meter]),
        pickup_quarters=pickup_eighths * EIGHTH_QUARTERS,
        neck=neck,
        hand="ready",
        top_tempo_half_bpm=TEMPO,
        chords=chords,
        notes=asked.notes,
        sevenths=asked.sevenths,
        thirds=asked.thirds,
    )


def _targets(
    found: re.Match[str], onset: float, neck: Neck, before: Sequence[TargetNote]
) -> list[TargetNote]:
    string, fret = int(found["string"]), int(found["fret"])
    first = TargetNote(
        onset_quarters=onset,
        duration_quarters=0.0,
        midi=neck.midi(string, fret),
        string=string,
        fret=fret,
        finger="I",
    )
    if found["slur"]:
        from_midi = None
        if found["slur"] == "s":
            from_midi = next(note.midi for note in reversed(before) if note.string == string)
        return [replace(first, technique=_SLURS[found["slur"]], from_midi=from_midi, finger="")]
    if found["choke"]:
        up = int(found["choke"]) - fret
        return [replace(first, technique="choke", midi=first.midi + up, from_midi=first.midi)]
    if found["inside"] == "s":
        to = int(found["to"])
        return [replace(first, technique="slide", midi=neck.midi(string, to), fret=to, from_midi=first.midi)]
    if found["inside"]:
        to = int(found["to"])
        second = replace(
            first,
            technique=_SLURS[found["inside"]],
            finger="",
            onset_quarters=onset + EIGHTH_QUARTERS / 2,
            midi=neck.midi(string, to),
            fret=to,
        )
        return [first, second]
    return [first]


A = lick("3/2 2/1 1/0 5/0 2/1 1/4 3/2 2/1 | 2/0 1/0 5/0 3/0 1/0 5/0 3/0", "D7 G", name="A")
"""The first example of the definitions, D7 to G."""

B = lick("3/0 2/0 1/3 5/0 2/0 1/3 5/0 1/3 | 3/0 1/2:r 5/0 2/1", "G7 C", name="B")
"""The second, G7 to C, written late."""


def place(of: Lick, name: str) -> float:
    """The place in quarters that a name such as `b2e1` or `b1e7.5` means."""
    found = _PLACE.fullmatch(name)
    if found is None:
        raise ValueError(f"{name!r} is no place")
    return (int(found["bar"]) - 1) * of.quarters_a_bar + (float(found["eighth"]) - 1) * EIGHTH_QUARTERS


def targets_at(of: Lick, where: str) -> list[int]:
    """Indices of the targets that a place, a range of places, `all`, `odd` or `even` means."""
    eighths = [note.onset_quarters / EIGHTH_QUARTERS for note in of.notes]
    if where in ("all", "odd", "even"):
        return [k for k, n in enumerate(eighths) if where == "all" or n % 2 == (where == "even")]
    first, _, last = where.partition("-")
    string = _PLACE.fullmatch(first)["string"]  # type: ignore[index]
    begin, end = place(of, first), place(of, last or first)
    found = [
        k
        for k, note in enumerate(of.notes)
        if begin <= note.onset_quarters <= end and string in (None, str(note.string))
    ]
    if not found:
        raise ValueError(f"no note of {of.id} at {where!r}")
    return found


def target_at(of: Lick, where: str) -> int:
    """Index of the one target at a place."""
    (index,) = targets_at(of, where)
    return index


@dataclass(frozen=True, kw_only=True)
class _Stroke:
    sec: float
    midi: int
    cents: float = 0.0
    arrives_sec: float | None = None
    level_db: float = -20.0
    confidence: float = 1.0

    def heard(self) -> NoteEvent:
        path: tuple[tuple[float, float], ...] = ()
        if self.arrives_sec is not None:
            half = self.sec + self.arrives_sec / 2
            path = ((self.sec, 0.0), (half, self.cents / 3), (self.sec + self.arrives_sec, self.cents))
        return NoteEvent(
            onset_sec=self.sec,
            midi=self.midi,
            cents=0.0,
            level_db=self.level_db,
            confidence=self.confidence,
            heard_sec=self.sec + 0.030,
            settled_sec=self.sec + 0.100,
            path=path,
        )


def play(
    of: Lick, slips: str = "", *, tempo_half_bpm: float = TEMPO, start_sec: float = START_SEC
) -> list[NoteEvent]:
    """What a flawless ear says of a lick that was played with some slips, by onset."""
    grid = grid_of(of, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec)
    strokes: dict[int, _Stroke] = {}
    for k, note in enumerate(of.notes):
        stroke = _Stroke(sec=grid.due_sec(note.onset_quarters), midi=note.midi)
        if note.from_midi is not None and note.finger:
            cents = 100.0 * (note.midi - note.from_midi)
            stroke = replace(stroke, midi=note.from_midi, cents=cents, arrives_sec=0.3 * grid.eighth_sec)
        strokes[k] = stroke
    added = []
    left_out: set[int] = set()
    for clause in filter(None, (c.strip() for c in slips.split(";"))):
        words = clause.split()
        if words[0] == "each":
            for k, late_ms in enumerate(words[1:]):
                strokes[k] = replace(strokes[k], sec=strokes[k].sec + float(late_ms) / 1e3)
        elif words[0] == "add":
            new = _Stroke(sec=grid.due_sec(place(of, words[2])), midi=_midi(of, words[1]))
            added.append(_slipped(of, grid, new, words[3:]))
        elif words[1:] == ["out"]:
            left_out.update(targets_at(of, words[0]))
        else:
            for k in targets_at(of, words[0]):
                strokes[k] = _slipped(of, grid, strokes[k], words[1:])
    played = [stroke for k, stroke in strokes.items() if k not in left_out]
    events = [stroke.heard() for stroke in (*played, *added)]
    return sorted(events, key=lambda event: (event.onset_sec, event.midi))


def _slipped(of: Lick, grid: Grid, stroke: _Stroke, words: Sequence[str]) -> _Stroke:
    rest = list(words)
    while rest:
        word = rest.pop(0)
        if word == "sure":
            stroke = replace(stroke, confidence=float(rest.pop(0)))
        elif word == "arrives":
            stroke = replace(stroke, arrives_sec=_seconds(grid, rest.pop(0)))
        elif word == "peaks":
            stroke = replace(stroke, cents=float(rest.pop(0)), arrives_sec=stroke.arrives_sec or 0.03)
        elif word == "whole":
            stroke = replace(stroke, arrives_sec=None)
        elif word.startswith("="):
            stroke = replace(stroke, midi=_midi(of, word[1:]), arrives_sec=None)
        elif word.endswith("dB"):
            stroke = replace(stroke, level_db=stroke.level_db + float(word[:-2]))
        else:
            stroke = replace(stroke, sec=stroke.sec + _seconds(grid, word))
    return stroke


def _seconds(grid: Grid, word: str) -> float:
    if word.endswith("ms"):
        return float(word[:-2]) / 1e3
    if word.endswith("e"):
        return float(word[:-1]) * grid.eighth_sec
    raise ValueError(f"{word!r} is no time: such as -51ms or +0.5e")


def _midi(of: Lick, word: str) -> int:
    if "/" not in word:
        return int(word)
    string, fret = word.split("/")
    return of.neck.midi(int(string), int(fret))


def grid_of(
    of: Lick,
    *,
    tempo_half_bpm: float = TEMPO,
    start_sec: float = START_SEC,
    limits: Limits | None = None,
) -> Grid:
    """A pass of a lick on the clock."""
    return Grid(lick=of, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec, limits=limits or Limits())


def judged(
    of: Lick,
    slips: str = "",
    *,
    tempo_half_bpm: float = TEMPO,
    start_sec: float = START_SEC,
    limits: Limits | None = None,
    about: Circumstances | None = None,
) -> Judged:
    """Judge a lick that was played with some slips."""
    events = play(of, slips, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec)
    grid = grid_of(of, tempo_half_bpm=tempo_half_bpm, start_sec=start_sec, limits=limits)
    return judge_pass(grid, events, about)
