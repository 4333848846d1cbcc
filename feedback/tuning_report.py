"""Tuning told: lines for a player, and JSON for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from feedback.tuning import StringState, Tuning, beforehand
from feedback.twelfth import TwelfthFound
from routines.neck import Neck

ALL_IN_TUNE = "all five are in tune"

PLUCK = f"Pluck one string at a time, let it ring; it ends when {ALL_IN_TUNE}"

_SURELY_CENTS = 1.0


def heading(neck: Neck) -> str:
    """What is tuned to: the tuning, the capo, and each string's note."""
    strings = "  ".join(f"{state.string} {state.note}" for state in Tuning(neck).strings)
    capo = f", capo {neck.capo}" if neck.capo else ""
    return f"{neck.tuning}{capo}: {strings}"


def string_line(state: StringState) -> str:
    """How one string stands, as one line; its warning behind it."""
    name = f"  string {state.string} ({state.note})"
    if state.cents is None or state.word == "not heard":
        return f"{name}  not heard"
    if state.word == "in tune":
        said = f"in tune ({_signed(state.cents)} cents, give or take {_unsure(state):.0f})"
    else:
        way = "flat" if state.cents < 0.0 else "sharp"
        said = f"{abs(state.cents):.0f} cents {way}: {state.word}"
    return f"{name}  {said}" + (f"; {state.warning}" if state.warning else "")


def tuning_json(tuning: Tuning, found: Sequence[TwelfthFound] | None, **more: Any) -> dict[str, Any]:
    """All of it for programs.

    Parameters
    ----------
    tuning : Tuning
    found : sequence of TwelfthFound or None
        None where the twelfth fret was not asked for.
    **more
        What stands first: the file, how it ended.

    Returns
    -------
    dict
    """
    fifth = tuning.neck.fifth_string
    return {
        **more,
        "tuning": tuning.neck.tuning,
        "capo": tuning.neck.capo,
        "fifth": {"midi": fifth.open_midi, "how": fifth.how},
        "in_tune": tuning.done,
        "warnings": beforehand(tuning.neck),
        "strings": [_state_json(state) for state in tuning.strings],
        "twelfth": None if found is None else [_twelfth_json(one) for one in found],
    }


def _state_json(state: StringState) -> dict[str, Any]:
    heard = state.word != "not heard"
    return {
        "string": state.string,
        "note": state.note,
        "midi": state.midi,
        "hz": state.hz if heard else None,
        "cents": state.cents if heard else None,
        "unsure_cents": state.unsure_cents if heard else None,
        "word": state.word,
        "warnings": [state.warning] if state.warning else [],
    }


def _twelfth_json(one: TwelfthFound) -> dict[str, Any]:
    return {
        "string": one.string,
        "cents": one.cents,
        "unsure_cents": one.unsure_cents,
        "true": one.true,
        "bridge_mm": one.bridge_mm,
    }


def _unsure(state: StringState) -> float:
    return max(_SURELY_CENTS, state.unsure_cents or 0.0)


def _signed(cents: float) -> str:
    return f"{cents:+.0f}".replace("-0", "+0") if abs(cents) < 0.5 else f"{cents:+.0f}"
