"""Records as plain values and back: what JSON and cells hold, checked field by field.

A frozen dataclass is an object with all of its fields, a tuple is a list, a moment is ISO text with its
offset; numbers, texts, truths and None stand for themselves. What is read must be as the dataclass says: its
kinds, its words, and the ranges that a banjo, a day or a MIDI number allows. A wrong value names its place as
`outcome.notes[3].verdict`, counted from 0 as other tools count.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, NoReturn, Union, get_args, get_origin, get_type_hints

from routines.errors import BadRoutine
from routines.journal.players import LONGEST_NAME, player_name

Reader = Callable[[Any], Any]
"""From a plain value to what a record holds; raises `WrongValue`."""

_RANGES: Mapping[str, tuple[float, float]] = {
    "lasted_sec": (0, 86400),
    "tempo_half_bpm": (1, 1000),
    "index": (0, 100000),
    "string": (1, 5),
    "fret": (0, 36),
    "midi": (0, 127),
    "heard_midi": (0, 127),
    "due_midi": (0, 127),
    "resolved_midi": (0, 127),
    "bounce": (-1000, 1000),
}
"""By the name of a field."""

_ANY_NUMBER = (-1e9, 1e9)
"""Of whatever is not there: what is farther off cannot be summed, and means nothing."""

_YEARS = range(1970, 3000)

_NEVER_EMPTY = ("id", "sitting")
_LONGEST: Mapping[str, int] = {"lick": 250, "title": 500}  # a lick's id may be the name of a file
_LONGEST_TEXT = 200
_SHOWN = 40


class WrongValue(ValueError):
    """A value that its field cannot take.

    Attributes
    ----------
    place : str
        The field, from the outermost in; empty for the value as a whole.
    what : str
        The value, and what is accepted.
    """

    def __init__(self, what: str, place: str = "") -> None:
        self.place, self.what = place, what
        super().__init__(f"{place}: {what}" if place else what)

    def within(self, outer: str) -> WrongValue:
        """The same, seen from outside of a field or a list."""
        inner = self.place if not self.place or self.place.startswith("[") else f".{self.place}"
        return WrongValue(self.what, outer + inner)


def as_plain(value: Any) -> Any:
    """One step from a record towards plain values, as `json.dumps` asks for it by `default`.

    Parameters
    ----------
    value : dataclass, datetime.datetime or numpy scalar

    Returns
    -------
    dict, str, int, float or bool
        A dataclass as its fields, in their order; they may hold records again.

    Raises
    ------
    TypeError
        If it is none of them.
    """
    if isinstance(value, datetime):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        return {name: getattr(value, name) for name in _names(type(value))}
    if hasattr(value, "item"):  # a number of numpy's: a pass is not lost for the want of a conversion
        return value.item()
    raise TypeError(f"{type(value).__name__} has no plain form")


@cache
def reader_of(kind: Any, name: str = "") -> Reader:
    """What reads a plain value as a kind of value.

    Parameters
    ----------
    kind : type or annotation
        A dataclass, a tuple of one kind or of fixed ones, a `Literal` of words, a union with None, float,
        int, bool, str or datetime.
    name : str
        Of the field that it stands in, for its range.

    Returns
    -------
    callable

    Raises
    ------
    TypeError
        If there is no way to read such a kind.
    """
    if is_dataclass(kind) and isinstance(kind, type):
        return _object_reader(kind)
    if get_origin(kind) in (Union, UnionType):
        return _optional_reader(kind, name)
    if get_origin(kind) is tuple:
        return _list_reader(get_args(kind), name)
    if get_origin(kind) is Literal:
        return _word_reader(get_args(kind))
    if kind in _SCALARS:
        return _SCALARS[kind](name)
    raise TypeError(f"no way to read {kind!r}")


@cache
def kinds_of(kind: type) -> Mapping[str, Any]:
    """The fields of a dataclass and their annotations, in their order."""
    hints = get_type_hints(kind)
    return {name: hints[name] for name in _names(kind)}


def is_optional(kind: Any) -> bool:
    """Whether None is accepted."""
    return get_origin(kind) in (Union, UnionType) and NoneType in get_args(kind)


def nearest_to_zero(name: str) -> float:
    """The number nearest to zero that a field of this name takes."""
    least, most = _RANGES.get(name, _ANY_NUMBER)
    return min(max(0.0, least), most)


def shown(value: Any) -> str:
    """A value as a message shows it: no longer than can be read."""
    if isinstance(value, dict | list):
        return "an object" if isinstance(value, dict) else "a list"
    if isinstance(value, int) and abs(value) >= 10**_SHOWN:
        return "a number of more digits than can be"
    text = repr(value) if isinstance(value, str) else json.dumps(value)
    return text if len(text) <= _SHOWN else f"{text[: _SHOWN - 3]}..."


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))


def _wrong(value: Any, accepted: str) -> NoReturn:
    raise WrongValue(f"{shown(value)} is no {accepted}")


def _object_reader(kind: type) -> Reader:
    readers = [(name, reader_of(hint, name)) for name, hint in kinds_of(kind).items()]
    names = set(_names(kind))

    def read(value: Any) -> Any:
        if type(value) is not dict:
            _wrong(value, f"object with {', '.join(_names(kind))}")
        if value.keys() != names:
            missing = next((name for name in _names(kind) if name not in value), None)
            if missing is not None:
                raise WrongValue("is missing", missing)
            raise WrongValue(
                f"is no field; there are {', '.join(_names(kind))}", shown(next(iter(value.keys() - names)))
            )
        made = {}
        for name, read_one in readers:
            try:
                made[name] = read_one(value[name])
            except WrongValue as wrong:
                raise wrong.within(name) from None
        return kind(**made)

    return read


def _optional_reader(kind: Any, name: str) -> Reader:
    (other,) = (one for one in get_args(kind) if one is not NoneType)
    read = reader_of(other, name)
    return lambda value: None if value is None else read(value)


def _list_reader(kinds: tuple[Any, ...], name: str) -> Reader:
    endless = kinds[-1] is Ellipsis
    readers = [reader_of(one, name) for one in kinds if one is not Ellipsis]

    def read(value: Any) -> tuple[Any, ...]:
        if type(value) is not list or not (endless or len(value) == len(readers)):
            _wrong(value, "list" if endless else f"list of {len(readers)}")
        made = []
        for at, one in enumerate(value):
            try:
                made.append(readers[0 if endless else at](one))
            except WrongValue as wrong:
                raise wrong.within(f"[{at}]") from None
        return tuple(made)

    return read


def _word_reader(words: tuple[str, ...]) -> Reader:
    def read(value: Any) -> str:
        if type(value) is not str or value not in words:
            raise WrongValue(f"{shown(value)} is none of {', '.join(words)}")
        return value

    return read


def _text_reader(name: str) -> Reader:
    if name == "player":
        return _player
    least, most = 1 if name in _NEVER_EMPTY else 0, _LONGEST.get(name, _LONGEST_TEXT)

    def read(value: Any) -> str:
        if type(value) is not str or len(value) < least:
            _wrong(value, "text of at least one sign" if least else "text")
        if len(value) > most:
            raise WrongValue(f"{shown(value)} has {len(value):,} signs, at most {most} are accepted")
        if not value.isascii() and any("\ud800" <= sign <= "\udfff" for sign in value):
            raise WrongValue(f"{value!a} holds half a sign, which is no text")
        return value

    return read


def _player(value: Any) -> str:
    try:
        return player_name(value if type(value) is str else "")
    except BadRoutine:
        accepted = f"1 to {LONGEST_NAME} characters that can be printed are accepted"
        raise WrongValue(f"{shown(value)} is no player's name: {accepted}") from None


def _number_reader(name: str, *, whole: bool) -> Reader:
    least, most = _RANGES.get(name, _ANY_NUMBER)
    accepted = f"{'whole ' if whole else ''}number from {least:g} to {most:g}"
    kind = int if whole else float

    def read(value: Any) -> float:
        if type(value) is kind and least <= value <= most:
            return value
        if type(value) is int and not whole and least <= value <= most:
            return float(value)
        _wrong(value, accepted)

    return read


def _truth(value: Any) -> bool:
    if type(value) is not bool:
        raise WrongValue(f"{shown(value)} is neither true nor false")
    return value


def _moment(value: Any) -> datetime:
    try:
        moment = datetime.fromisoformat(value)
    except (TypeError, ValueError):
        moment = datetime.min
    if moment.utcoffset() is None or moment.year not in _YEARS:
        _wrong(value, "moment with its offset, such as 2026-11-29T19:30:00+01:00")
    return moment


_SCALARS: dict[Any, Callable[[str], Reader]] = {
    str: _text_reader,
    float: lambda name: _number_reader(name, whole=False),
    int: lambda name: _number_reader(name, whole=True),
    bool: lambda name: _truth,
    datetime: lambda name: _moment,
}
