"""Numbers that are none (not a number, endless) taken out of a pass before it is stored or exported.

The problem: a judge that divides by nothing must not cost the player a pass, nor the journal its export: JSON
has no such numbers. Where a field may be None such a number becomes None, which says the same: it could not
be told. Where a field must have a number it becomes the one nearest to zero that is accepted there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import is_dataclass, replace
from functools import cache
from types import NoneType
from typing import Any, get_args, get_origin

from routines.journal.fields import is_optional, kinds_of, nearest_to_zero
from routines.journal.records import PassRecord

_Mended = Callable[[Any], Any]


def finite(record: PassRecord) -> PassRecord:
    """A pass all of whose numbers are finite.

    Parameters
    ----------
    record : PassRecord

    Returns
    -------
    PassRecord
        The same one where nothing was to be changed.
    """
    mended: PassRecord = _of_object(PassRecord)(record)
    return mended


@cache
def _of_object(kind: type) -> _Mended:
    parts = [(name, made) for name, one in kinds_of(kind).items() if (made := _of(one, name))]

    def mended(value: Any) -> Any:
        changed = {}
        for name, mend in parts:
            was = getattr(value, name)
            now = mend(was)
            if now is not was:
                changed[name] = now
        return replace(value, **changed) if changed else value

    return mended


def _of(kind: Any, name: str) -> _Mended | None:
    """What mends values of a kind; None where there is no number in it."""
    if is_dataclass(kind) and isinstance(kind, type):
        return _of_object(kind)
    if get_origin(kind) is tuple:
        inner = next((made for one in get_args(kind) if (made := _of(one, name))), None)
        return _of_each(inner) if inner else None
    instead: float | None = None
    if is_optional(kind):
        (kind,) = (one for one in get_args(kind) if one is not NoneType)
    elif kind in (int, float):
        instead = kind(nearest_to_zero(name))
    return _of_number(instead) if kind in (int, float) else None


def _of_each(mend: _Mended) -> _Mended:
    def mended(values: tuple[Any, ...]) -> tuple[Any, ...]:
        now = tuple([mend(value) for value in values])
        return values if all(a is b for a, b in zip(now, values, strict=True)) else now

    return mended


def _of_number(instead: float | None) -> _Mended:
    return lambda value: value if value is None or math.isfinite(value) else instead
