"""Names of players."""

from __future__ import annotations

import unicodedata

from routines.errors import BadRoutine

LONGEST_NAME = 60


def player_name(text: str) -> str:
    """A player's name as it is stored.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Without blanks around it; an accent is one sign with its letter, however it was typed.

    Raises
    ------
    BadRoutine
        If it is empty, longer than 60 characters, or has one in it that cannot be printed.
    """
    name = unicodedata.normalize("NFC", text).strip()
    if not name.isprintable() or not 1 <= len(name) <= LONGEST_NAME:
        raise BadRoutine(f"player {text!r}: 1 to {LONGEST_NAME} characters that can be printed are accepted")
    return name
