"""JSON read piece by piece: one object, the elements of its one long list each by itself.

The problem: an export of ten years is larger than memory should be, and another tool may have laid it out
anew, over many lines or on a single one. So text is taken in as it is needed, and no more of it is kept than
the piece that is being read.

Conventions: lines count from 1. The pieces are what the json module reads, without NaN and infinities.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NoReturn, TextIO

_CHUNK = 1 << 18
_LONGEST = 1 << 24
_SPACE = re.compile(r"[ \t\n\r]*")
_NUMBER = re.compile(r"[0-9.eE+-]*")
_CUT = re.compile(r"-?[0-9.eE+-]*|t(r(u)?)?|f(a(l(s)?)?)?|n(u(l)?)?")
"""What is left at the end where a file was cut inside a number or a word."""


class BadJson(ValueError):
    """Text that is not JSON as it should be.

    Attributes
    ----------
    line : int
    what : str
    number : int
        Of the element of the long list in or after which it is; 0 outside of it.
    """

    def __init__(self, line: int, what: str, number: int = 0) -> None:
        self.line, self.what, self.number = line, what, number
        super().__init__(f"line {line}: {what}")


@dataclass(frozen=True, slots=True)
class Piece:
    """A member of the object, or an element of its long list.

    Attributes
    ----------
    key : str
        Of the member.
    value : object
    line : int
        Where it begins.
    number : int
        Of the element, from 1; 0 for a member, and for the long list where it begins: its value is None.
    """

    key: str
    value: Any
    line: int
    number: int


def pieces(file: TextIO, long_list: str) -> Iterator[Piece]:
    """Read one JSON object, piece by piece.

    Parameters
    ----------
    file : text file
    long_list : str
        Key of the member whose elements come each by itself; it may be anywhere in the object, once.

    Yields
    ------
    Piece

    Raises
    ------
    BadJson
        At the place of the fault, after all that is before it.
    UnicodeDecodeError
        If the file is not of the encoding that it was opened with.
    """
    return _Reader(file).object(long_list)


class _Reader:
    def __init__(self, file: TextIO) -> None:
        self._file, self._text, self._at, self._ended = file, "", 0, False
        self._line, self._counted = 1, 0
        self._number = 0
        self._decode = json.JSONDecoder(parse_constant=_no_constant).raw_decode

    def object(self, long_list: str) -> Iterator[Piece]:
        seen: set[str] = set()
        if not self._peek():
            self._fail("the file is empty")
        self._take("{", "an object { } was expected")
        if self._peek() != "}":
            while True:
                key = self._key()
                if key in seen:
                    self._fail(f"{key!r} is there twice")
                seen.add(key)
                if key == long_list:
                    yield from self._list(key)
                else:
                    yield Piece(key, self._value(), self._line, 0)
                if self._peek() != ",":
                    break
                self._at += 1
        self._take("}", "',' or '}' was expected")
        if self._peek():
            self._fail("something follows after the end")

    def _key(self) -> str:
        if self._peek() != '"':
            self._fail("a name in double quotes was expected")
        key = self._value()
        self._take(":", "':' was expected")
        return str(key)

    def _list(self, key: str) -> Iterator[Piece]:
        self._take("[", f"{key!r} has to be a list [ ]")
        yield Piece(key, None, self._line, 0)
        if self._peek() != "]":
            while True:
                self._number += 1
                self._peek()
                line = self._line
                yield Piece(key, self._value(), line, self._number)
                if self._peek() != ",":
                    break
                self._at += 1
        self._take("]", "',' or ']' was expected")
        self._number = 0

    def _take(self, sign: str, wanted: str) -> None:
        if self._peek() != sign:
            self._fail(wanted)
        self._at += 1

    def _peek(self) -> str:
        """The next sign after white space, or nothing at the end."""
        while True:
            found = _SPACE.match(self._text, self._at)
            self._at = found.end() if found else self._at
            if self._at < len(self._text):
                self._count()
                return self._text[self._at]
            if not self._more():
                self._count()
                return ""

    def _value(self) -> Any:
        self._peek()
        while True:
            try:
                value, end = self._decode(self._text, self._at)
            except RecursionError:
                self._fail("nested too deeply")
            except json.JSONDecodeError as error:
                if not self._longer():
                    self._fail_at(error)
            except ValueError as error:
                self._fail(str(error).partition(";")[0])
            else:
                # A number may go on in what is not read yet, even after what is none by itself ("2.", "2e").
                if _NUMBER.fullmatch(self._text, end) is None or not self._longer():
                    self._at = end
                    return value

    def _longer(self) -> bool:
        if len(self._text) - self._at > _LONGEST:
            self._fail("longer than any pass, or a quote or bracket is never closed")
        return self._more()

    def _more(self) -> bool:
        new = self._file.read(max(_CHUNK, len(self._text) - self._at))
        if not new:
            self._ended = True
            return False
        self._count()
        self._text, self._at, self._counted = self._text[self._at :] + new, 0, 0
        return True

    def _count(self) -> None:
        self._line += self._text.count("\n", self._counted, self._at)
        self._counted = self._at

    def _fail_at(self, error: json.JSONDecodeError) -> NoReturn:
        left = self._text[error.pos :].strip()
        cut = _CUT.fullmatch(left) or error.msg.startswith("Unterminated") or left.startswith("\\")
        self._at = len(self._text) if cut else error.pos
        self._fail(f"{error.msg[:1].lower()}{error.msg[1:]}")

    def _fail(self, what: str) -> NoReturn:
        self._count()
        cut = self._at >= len(self._text) and self._ended and what != "the file is empty"
        told = "the file ends in the middle: it was cut short" if cut else what
        raise BadJson(self._line, told, self._number)


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number in JSON")
