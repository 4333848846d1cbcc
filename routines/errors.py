"""What can be wrong with what a player typed. Each message is one line: what, the value, what is accepted."""

from __future__ import annotations


class BadRoutine(ValueError):
    """A name, a number or a text that routines cannot take."""


class BadLickText(BadRoutine):
    """A lick text that cannot be read.

    Attributes
    ----------
    file : str
    line, column : int
        Counted from 1; 0 where the fault lies in no one line.
    """

    def __init__(self, file: str, line: int, column: int, what: str) -> None:
        self.file, self.line, self.column = file, line, column
        place = ":".join([file, *(str(n) for n in (line, column) if n)])
        super().__init__(f"{place}: {what}")
