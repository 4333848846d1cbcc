"""Words of the progress screen: days, minutes, timing, and how often of how often."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from feedback.judges.limits import Limits
from feedback.screen.lettering import width

_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")  # fmt: skip
_DAYS_COUNTED, _WEEKS_COUNTED = 14, 8
_EVEN = 0.02  # of a bounce: less is heard as even
_MANY = 1000  # of more than so many the share is told


def since_text(day: str, today: str) -> str:
    """A day as a beginning: "4 Oct"; of another year the month, "Oct 2024".

    Parameters
    ----------
    day, today : str
        As "2026-11-29".
    """
    at = date.fromisoformat(day)
    month = _MONTHS[at.month - 1][:3]
    return f"{at.day} {month}" if at.year == date.fromisoformat(today).year else f"{month} {at.year}"


def ago_text(day: str, today: str) -> str:
    """How long ago a day is: "today", "yesterday", "3 days ago", "2 weeks ago", "in March", "in Mar 2024".

    Parameters
    ----------
    day, today : str
        As "2026-11-29"; a day that lies ahead is told by its date.
    """
    at, now = date.fromisoformat(day), date.fromisoformat(today)
    days = (now - at).days
    if days < 0:
        return since_text(day, today)
    if days < 2:
        return ("today", "yesterday")[days]
    if days < _DAYS_COUNTED:
        return f"{days} days ago"
    if days // 7 <= _WEEKS_COUNTED:
        return f"{days // 7} weeks ago"
    month = _MONTHS[at.month - 1]
    return f"in {month}" if at.year == now.year else f"in {month[:3]} {at.year}"


def often(hits: int, of: int, many: int = _MANY) -> str:
    """How often of how often: "38 of 40"; of so many the share, "94 %"; of none a dash."""
    if of <= 0:
        return "–"
    return f"{hits} of {of}" if of < many else f"{100 * hits / of:.0f} %"


def lean_text(lean_ms: float) -> tuple[str, str]:
    """A lean as its side and how much; one that is not told from none is none."""
    if abs(lean_ms) <= Limits().lean_unsure_ms:
        return "lean", "none"
    return f"leans {'ahead' if lean_ms < 0 else 'behind'}", f"{abs(lean_ms):.0f} ms"


def bounce_text(bounce: float) -> str:
    """A bounce as two shares of a quarter: "56:44"; "even" where it is."""
    return "even" if abs(bounce - 0.5) < _EVEN else f"{100 * bounce:.0f}:{100 - 100 * bounce:.0f}"


def minutes_text(minutes: float) -> str:
    """Minutes, whole; hours and minutes from two hours on."""
    whole = round(minutes)
    if whole < 120:
        return "1 minute" if whole == 1 else f"{whole} minutes"
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest} min" if rest and hours < 100 else f"{hours} hours"


def breakable(text: str, size: float, wide: float) -> str:
    """A text in which no word is wider than a line: the path of a file may be.

    Parameters
    ----------
    text : str
    size, wide : float
        As it is going to be written.
    """
    return " ".join(piece for word in text.split() for piece in _pieces(word, size, wide))


def _pieces(word: str, size: float, wide: float) -> Iterator[str]:
    """A word in pieces that fit; broken behind a slash where there is one."""
    while word:
        fits = next((k for k in range(len(word), 1, -1) if width(word[:k], size) <= wide), 1)
        slash = max(word.rfind(sign, 0, fits) for sign in "/\\") + 1
        fits = slash if slash > 0 and fits < len(word) else fits
        yield word[:fits]
        word = word[fits:]
