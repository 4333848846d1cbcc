"""`sevenfall move LICK --to A`: a lick in another key, tuning or capo.

The capo answer comes first: the same frets as written. Then the tab of the best fingering without a capo (or
on the neck that is asked for), with what becomes of the drone, and what had to be altered where no hand can
play it exactly. Frets are read as if there were no capo; MIDI numbers in the JSON are as it sounds.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from feedback.commands.options import add_json
from feedback.errors import Usage
from feedback.writing import beside
from routines.chords import Chord
from routines.errors import BadRoutine
from routines.library import load
from routines.lick import Lick, TargetNote
from routines.moving.answers import CapoAnswer, Fingering, Moved
from routines.moving.move import move
from routines.neck import OPEN_TUNINGS
from routines.pitch import usual_tone
from routines.shapes import shaped
from routines.tab_writer import write_systems, write_tab
from routines.tempo import tempo_words

HELP = "a lick in another key: the capo answer, and the best fingering without a capo"
EXAMPLE = """\
  sevenfall move slab-wood-supper --to C                    capo and fifth string, then a new fingering
  sevenfall move slab-wood-supper --to G --tuning gCGBD     the same key in another tuning
  sevenfall move slab-wood-supper --to E -o in-e.lick       keep the fingering: sevenfall play in-e.lick"""

_ENDING = ".lick"
_STRINGS = 5
_EIGHTH_QUARTERS = 0.5


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what can be typed after the command's name."""
    parser.add_argument("lick", metavar="LICK", help="the name of a lick, or the path of a .lick file")
    parser.add_argument("--to", required=True, metavar="KEY", help="the key that is to sound: A, Bb, F#")
    parser.add_argument(
        "--tuning", metavar="T", help=f"one of {' '.join(OPEN_TUNINGS)} (default: the lick's own)"
    )
    parser.add_argument("--capo", type=int, metavar="N", help="fret of the capo (default: whichever fits)")
    parser.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        help="keep the fingering as x.lick; with --capo the same frets as written, where they do",
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Print the lick moved.

    Returns
    -------
    int
        0, also where no hand can play it exactly: then the nearest is told, and what is altered.

    Raises
    ------
    BadRoutine
        If the lick, the key, the tuning or the capo is none.
    Usage
        If the file's name has another ending.
    OSError
        If the lick's file cannot be read, or the file not be written.
    """
    if args.output is not None and not args.output.lower().endswith(_ENDING):
        raise Usage(f"{args.output}: a lick's name ends in {_ENDING}")
    lick = load(args.lick)
    moved = move(lick, args.to, tuning=args.tuning, capo=args.capo)
    if args.output is not None:
        same_frets = args.capo is not None and moved.capo is not None
        kept = moved.capo.lick if same_frets and moved.capo is not None else moved.fingering.lick
        beside(Path(args.output), lambda part: _write(part, write_tab(kept)))
    if args.json:
        print(json.dumps(as_json(lick, moved)))
        return 0
    print("\n".join(as_text(lick, moved)))
    if args.output is not None:
        print(f"\n{args.output}: written, {'the frets as they were' if same_frets else 'the fingering'}")
    return 0


def _write(part: Path, text: str) -> None:
    part.write_text(text, encoding="utf-8")


def as_json(lick: Lick, moved: Moved) -> dict[str, Any]:
    """A move as `move --json` prints it.

    Parameters
    ----------
    lick : Lick
        What was moved.
    moved : Moved

    Returns
    -------
    dict
        `capo` has `fret` null where the same frets are no answer, and says why in `words`.
    """
    fingering = moved.fingering
    return {
        "lick": lick.id,
        "key": moved.key,
        "capo": _capo_json(moved.capo, moved.no_capo),
        "fingering": {
            "playable": fingering.playable,
            "exact": fingering.exact,
            "cost": round(fingering.cost, 3),
            **_lick_json(fingering.lick),
            "notes": [
                {**note, "left": left, "index": index}
                for note, left, index in zip(
                    _notes_json(fingering.lick), fingering.left, fingering.sources, strict=True
                )
            ],
            "altered": [
                {"index": one.index, "from": one.before, "to": one.after, "why": one.why}
                for one in fingering.altered
            ],
            "half_steps": fingering.half_steps,
            "direction": fingering.direction,
            "drones": fingering.drones,
            "troubles": list(fingering.troubles),
        },
    }


def as_text(lick: Lick, moved: Moved) -> list[str]:
    """A move as lines for the terminal.

    Parameters
    ----------
    lick : Lick
        What was moved.
    moved : Moved
    """
    fingering = moved.fingering
    capo = list(moved.capo.words) if moved.capo is not None else [_sentence(moved.no_capo)]
    return [
        f"{lick.title}, from {lick.key} to {moved.key}",
        *capo,
        "",
        *_fingering_text(fingering),
        "",
        *tab_with_left_hand(fingering),
    ]


def tab_with_left_hand(fingering: Fingering) -> list[str]:
    """The tab of a fingering, with the left hand's fingers in a line below the right hand's.

    A finger stands there for each note that begins an eighth, but for the end of a slide, whose finger is
    known. Only the right hand's are told where a grid that holds both would be another.
    """
    lick = fingering.lick
    pages = [write_systems(lick).rstrip("\n")]
    digits = [
        replace(note, finger=str(left)) if _has_digit(note) else note
        for note, left in zip(lick.notes, fingering.left, strict=True)
    ]
    try:
        pages.append(write_systems(replace(lick, notes=tuple(digits))).rstrip("\n"))
    except BadRoutine:
        return pages[0].split("\n")
    right, left = ([system.split("\n") for system in page.split("\n\n")] for page in pages)
    lines: list[str] = []
    for here, there in zip(right, left, strict=True):
        end = next(i for i, line in enumerate(here) if "|" in line) + _STRINGS
        if here[:end] != there[:end]:
            return pages[0].split("\n")
        lines += [*here[: end + 1], there[end], *here[end + 1 :], ""]
    return lines[:-1]


def _has_digit(note: TargetNote) -> bool:
    slid_to = note.technique == "slide" and not note.picked
    return not slid_to and note.onset_quarters % _EIGHTH_QUARTERS == 0.0


def _fingering_text(fingering: Fingering) -> list[str]:
    lick = fingering.lick
    neck = lick.neck
    where = [] if neck.tuning == "gDGBD" else [f"in {neck.tuning}"]
    where.append(f"with capo {neck.capo}, {_shapes(lick)} shapes" if neck.capo else "without a capo")
    lines = [f"Fingered {' '.join(where)}: {fingering.direction}."]
    if fingering.drones:
        lines.append(_sentence(fingering.drones))
    if not fingering.playable:
        tempo = tempo_words(lick.top_tempo_half_bpm)
        lines.append(f"No hand plays this at {tempo}: {'; '.join(fingering.troubles)}.")
    elif not fingering.exact:
        lines.append("Not the lick itself, but the nearest that a hand plays:")
    lines += [
        f"  {_note_words(one.index)}{one.before} is {_now(one.after)}: {one.why}" for one in fingering.altered
    ]
    return lines


def _shapes(lick: Lick) -> str:
    return shaped(Chord.parse(lick.key), lick.neck.capo).symbol


def _note_words(index: int | None) -> str:
    return "" if index is None else f"note {index + 1}, "


def _now(after: str) -> str:
    return after if after == "left out" else f"now {after}"


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _capo_json(answer: CapoAnswer | None, why_not: str) -> dict[str, Any]:
    if answer is None:
        return {"fret": None, "words": [_sentence(why_not)]}
    neck = answer.lick.neck
    return {
        "fret": neck.capo,
        "shapes": answer.shapes,
        "half_steps": answer.half_steps,
        "words": list(answer.words),
        **_lick_json(answer.lick),
        "notes": _notes_json(answer.lick),
    }


def _lick_json(lick: Lick) -> dict[str, Any]:
    fifth = lick.neck.fifth_string
    return {
        "id": lick.id,
        "title": lick.title,
        "tuning": lick.neck.tuning,
        "capo": lick.neck.capo,
        "fifth": {
            "open_midi": fifth.open_midi,
            "note": str(usual_tone(fifth.open_midi)).lower(),
            "how": fifth.how,
        },
        "top_tempo_half_bpm": lick.top_tempo_half_bpm,
        "chords": [{"start_quarters": span.start_quarters, "symbol": span.symbol} for span in lick.chords],
    }


def _notes_json(lick: Lick) -> list[dict[str, Any]]:
    return [
        {
            "onset_quarters": note.onset_quarters,
            "midi": note.midi,
            "string": note.string,
            "fret": note.fret,
            "finger": note.finger,
            "technique": note.technique,
            "role": note.role,
        }
        for note in lick.notes
    ]
