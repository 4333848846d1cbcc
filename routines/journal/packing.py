"""A pass's verdicts as few bytes, and back again, equal in every field.

The problem: a pass has a row of eleven values for each of its notes; ten years have two hundred thousand
passes. Names of fields are not stored, but their order is, under the number of a format: what is changed in
`routines.outcome` needs a new format, and the old ones are read for ever.

Conventions: JSON, compressed. Its first value is the format; whatever a number is (whole, not a number,
endless), it comes back as it was.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from typing import Any

from routines.outcome import Extra, NoteVerdict, PassOutcome, SeventhVerdict, Timing

FORMAT = 1

_NOTE = (
    "index", "onset_sec", "midi", "string", "fret", "role", "core", "verdict", "heard_midi", "deviation_ms",
    "rest_ms",
)  # fmt: skip
_EXTRA = ("onset_sec", "midi", "foreign")
_SEVENTH = (
    "index", "chord", "next_chord", "midi", "sounded", "landed", "swallowed", "due", "due_midi", "resolution",
    "resolved_midi", "resolution_ms", "as_asked",
)  # fmt: skip
_TIMING = ("lean_ms", "bounce", "spread_ms", "drift_percent", "hurry_at_change_ms", "tempo_course")
_PASS = ("lick", "key", "tempo_half_bpm", "start_sec", "start_found", "clean")


def pack(outcome: PassOutcome) -> bytes:
    """Verdicts as bytes.

    Parameters
    ----------
    outcome : PassOutcome

    Returns
    -------
    bytes
        Some 50 for each note.
    """
    rows = (
        [_values(note, _NOTE) for note in outcome.notes],
        [_values(extra, _EXTRA) for extra in outcome.extras],
        [_values(seventh, _SEVENTH) for seventh in outcome.sevenths],
        [_values(third, _SEVENTH) for third in outcome.thirds],
        _values(outcome.timing, _TIMING),
    )
    text = json.dumps([FORMAT, *_values(outcome, _PASS), *rows], separators=(",", ":"), default=_plain)
    return zlib.compress(text.encode("ascii"))


def unpack(packed: bytes) -> PassOutcome:
    """What `pack` was given.

    Raises
    ------
    ValueError
        If these are no verdicts, or of a format that is not known here.
    """
    try:
        told = json.loads(zlib.decompress(packed))
        if not isinstance(told, list) or told[0] != FORMAT:
            raise ValueError(f"verdicts of a format that is not known here: {str(told)[:20]}")
        return _outcome(told[1:])
    except (zlib.error, TypeError, LookupError, RecursionError) as error:
        raise ValueError(f"no verdicts: {error}") from error


def _outcome(told: Sequence[Any]) -> PassOutcome:
    *plain, notes, extras, sevenths, thirds, timing = told
    lean_ms, bounce, spread_ms, drift_percent, hurry_ms, course = timing
    return PassOutcome(
        **_named(_PASS, plain),
        notes=tuple(NoteVerdict(**_named(_NOTE, row)) for row in notes),
        extras=tuple(Extra(**_named(_EXTRA, row)) for row in extras),
        sevenths=tuple(SeventhVerdict(**_named(_SEVENTH, row)) for row in sevenths),
        thirds=tuple(SeventhVerdict(**_named(_SEVENTH, row)) for row in thirds),
        timing=Timing(
            lean_ms=lean_ms,
            bounce=bounce,
            spread_ms=spread_ms,
            drift_percent=drift_percent,
            hurry_at_change_ms=hurry_ms,
            tempo_course=tuple((sec, half_bpm) for sec, half_bpm in course),
        ),
    )


def _values(of: object, names: Sequence[str]) -> list[Any]:
    return [getattr(of, name) for name in names]


def _named(names: Sequence[str], values: Sequence[Any]) -> dict[str, Any]:
    return dict(zip(names, values, strict=True))


def _plain(value: Any) -> Any:
    """A number of numpy's as one of Python's own: a pass is not lost for the want of a conversion."""
    if hasattr(value, "item"):
        return value.item()
    raise TypeError(f"{type(value).__name__} is no verdict's value: {value!r}")
