"""A moved lick as `sevenfall move --json` prints it.

Conventions: frets are read as if there were no capo, MIDI numbers are as it sounds.
"""

from __future__ import annotations

from typing import Any

from routines.lick import Lick
from routines.moving.answers import CapoAnswer, Moved
from routines.pitch import usual_tone


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


def _capo_json(answer: CapoAnswer | None, why_not: str) -> dict[str, Any]:
    if answer is None:
        return {"fret": None, "words": [sentence(why_not)]}
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


def sentence(words: str) -> str:
    """Return words as a sentence: a capital first, a full stop last."""
    return f"{words[0].upper()}{words[1:]}."
