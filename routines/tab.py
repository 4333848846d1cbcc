"""Our lick text: a short header, then the plain five-line tab that players type; and how it is read.

The problem: a tab is easy to type and hard to trust. One dash too few and every note after it is an eighth
early. So the header states the grid, every bar must be full, and whatever cannot be read exactly is refused
with file, line and column. Any editor will do; a fixed-width font helps.

    title: Pond Man's Lean
    key: D
    grid: 3 columns an eighth
    hand: ready
    top: 105
    trains: G left leaning over the D chord for a quarter before it falls: patience at the change.

      A7                       D
    D|---2--------2-----5-----|------4-----2-----------|
    B|0h2------2-----------2--|---3-----------3--------|
    G|------2-----------------|------------------2-----|
    D|------------------------|0-----------------------|
    g|------------------------|------------------------|
      I  M  T  I  M     M  I   T  I  M     M  I  T
                                     r

Header
    `name: value` a line, in any order, ended by a blank line; the names and what they accept are the rows
    of `tab_fields.FIELDS`. `grid` says how many columns of text an eighth takes. `key` is the key that
    sounds; frets and chord symbols are read as if there were no capo (key A, capo 2: shapes and symbols of
    G).
Tab
    Five lines a system, first string on top, each begun by the string's name and a bar line. Blank lines
    stand between systems, which simply continue. Every bar is full and closed by a bar line (`|` or `||`),
    and bar lines stand under each other. With `pickup: 3 eighths` the first bar has just these.
Frets
    One or two digits where an eighth begins; all of a number stands in its own eighth. Unused columns are
    dashes.
Slurs
    `h` hammer-on, `p` pull-off, `s` slide, between two frets of one string. Its end begins in its own
    eighth, if it stands there (`2-h3--`, also across a bar line: `1-p|0--`); inside the eighth of the first
    fret (`2h3`) a hammer-on or pull-off begins half an eighth after it. A slide inside an eighth (`2s4`) is
    one picked note, timed from the pick; its fret and pitch are those of the end. A slide to its own eighth
    is a note of its own that begins there.
Chokes
    `10c11` is picked at fret 10 and pushed up to the pitch of fret 11, timed from the pick; at most 200
    cents; a bare `10c` is a half step. The number after `c` is no note and may run on into the next eighth.
Chords
    A symbol stands above the first column of the eighth where it begins, or above the bar line before it.
    It lasts until the next. `N.C.` is no chord, as is everything before the first symbol.
Fingers (may be left out, wholly or in part)
    T, I, M below the first column of a picked note; for a pinch side by side, from the fifth string to the
    first. What is left out is filled in by `routines.fingers`.
Marks (may be left out)
    Below the first column of a note, several side by side: `*` a core note (a clean pass needs it); `r`
    here the flat seven is asked to resolve; `3` here the leading third is, and then it counts; `7` the open
    fifth string is the flat seven here; `x` this flat seven is colour, nothing is asked. Without marks
    `routines.asks` infers the places.

A note lasts until the next one of the lick begins, or the lick ends. Spaces only, no tab characters.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePath

from routines.asks import BEAT_QUARTERS, read_asks
from routines.chords import Chord, ChordSpan
from routines.errors import BadLickText, BadRoutine
from routines.fingers import Stroke, assign_fingers
from routines.lick import QUARTERS_A_BAR, Lick, TargetNote
from routines.neck import Neck
from routines.shapes import sounding
from routines.tab_header import read_header
from routines.tab_marks import check_marks, read_marks
from routines.tab_notes import TypedNote, quarters_of, read_notes
from routines.tab_signs import Sign, chord_signs, finger_signs, mark_signs
from routines.tab_systems import read_systems
from routines.tab_writer import write_tab

__all__ = ["parse_lick", "write_tab"]

_NO_CHORD = ("N.C.", "NC")


def parse_lick(text: str, file: str) -> Lick:
    """Read a lick text.

    Parameters
    ----------
    text : str
        As typed; a byte order mark and any line ends are accepted.
    file : str
        Where it was read, for the errors; its stem becomes the lick's id.

    Raises
    ------
    BadLickText
        Naming file, line and column, what stands there and what was expected.
    """
    lines = [line.rstrip("\r") for line in text.removeprefix("\ufeff").split("\n")]
    for number, line in enumerate(lines, 1):
        if "\t" in line:
            raise BadLickText(
                file, number, line.index("\t") + 1, "a tab character: expected spaces or dashes"
            )
    while lines and not lines[-1].strip():
        lines.pop()
    first = next((i for i, line in enumerate(lines) if line.strip()), 0)
    blank = next((i for i in range(first, len(lines)) if not lines[i].strip()), len(lines))
    header = read_header(lines[first:blank], first + 1, file)
    systems = read_systems(lines[blank:], blank + 1, header, file)
    typed = read_notes(systems, header.neck, file)
    if not typed:
        raise BadLickText(
            file, systems[0].strings[0].line, 1, "no note in the tab: expected at least one fret"
        )
    start = systems[0].bars[0].place
    end = systems[-1].end
    chords = _spans(chord_signs(systems, file), start, end, header.neck.capo, file)
    notes = _targets(typed, finger_signs(systems, typed, file), end, header.neck, header.meter)
    marks = mark_signs(systems, typed, file)
    asked = read_asks(notes, chords, QUARTERS_A_BAR[header.meter], read_marks(marks))
    check_marks(marks, asked, file)
    return Lick(
        id=PurePath(file).stem or file,
        title=header.title,
        key=header.key,
        trains=header.trains,
        file=file,
        kind=header.kind,
        meter=header.meter,
        bars=end // (2 * header.eighths_a_bar),
        pickup_quarters=header.pickup_eighths / 2,
        neck=header.neck,
        hand=header.hand,
        top_tempo_half_bpm=header.top_tempo_half_bpm,
        chords=chords,
        notes=asked.notes,
        sevenths=asked.sevenths,
        thirds=asked.thirds,
        use=header.use,
    )


def _spans(signs: Sequence[Sign], start: int, end: int, capo: int, file: str) -> tuple[ChordSpan, ...]:
    """Turn chord signs into spans as they sound; a chord written again is one span with the first."""
    begins: list[tuple[int, Chord | None]] = [(start, None)]
    for sign in signs:
        chord = None if sign.text in _NO_CHORD else _chord(sign, capo, file)
        if sign.place == begins[-1][0]:
            begins.pop()
        if not begins or begins[-1][1] != chord:
            begins.append((sign.place, chord))
    ends = [place for place, _ in begins[1:]] + [end]
    return tuple(
        ChordSpan(quarters_of(place), quarters_of(until), chord)
        for (place, chord), until in zip(begins, ends, strict=True)
    )


def _chord(sign: Sign, capo: int, file: str) -> Chord:
    try:
        return sounding(Chord.parse(sign.text), capo)
    except BadRoutine as error:
        raise BadLickText(file, sign.line, sign.column, str(error)) from error


def _targets(
    typed: Sequence[TypedNote], fingers: Sequence[Sign], end: int, neck: Neck, meter: str
) -> list[TargetNote]:
    places = sorted({note.place for note in typed})
    following = dict(zip(places, [*places[1:], end], strict=True))
    finger_of = _fingers(typed, {sign.place: sign.text for sign in fingers}, meter)
    targets = []
    for note in typed:
        stopped = neck.midi(note.string, note.fret)
        begins = None
        if note.choked_frets:
            begins = stopped
        elif note.technique == "slide" and note.from_fret is not None:
            begins = neck.midi(note.string, note.from_fret)
        targets.append(
            TargetNote(
                onset_quarters=quarters_of(note.place),
                duration_quarters=quarters_of(following[note.place] - note.place),
                midi=stopped + note.choked_frets,
                string=note.string,
                fret=note.fret,
                finger=finger_of.get((note.place, note.string), "") if note.picked else "",
                technique=note.technique,
                from_midi=begins,
            )
        )
    return sorted(targets, key=lambda note: (note.onset_quarters, note.midi, -note.string))


def _fingers(typed: Sequence[TypedNote], fixed: dict[int, str], meter: str) -> dict[tuple[int, int], str]:
    """Return the finger for each (place, string) that is picked."""
    strings: dict[int, tuple[int, ...]] = {}
    for note in typed:
        if note.picked:
            strings[note.place] = (*strings.get(note.place, ()), note.string)
    slurs = sorted(note.place for note in typed if not note.picked)
    strokes = []
    before = None
    for place, picked in strings.items():
        strokes.append(
            Stroke(
                onset_quarters=quarters_of(place),
                strings=picked,
                fixed=fixed.get(place, ""),
                accented=quarters_of(place) % BEAT_QUARTERS[QUARTERS_A_BAR[meter]] == 0,
                slur_before=before is not None and any(before < slur < place for slur in slurs),
            )
        )
        before = place
    found = assign_fingers(strokes)
    return {
        (place, string): finger
        for (place, picked), letters in zip(strings.items(), found, strict=True)
        for string, finger in zip(picked, letters, strict=True)
    }
