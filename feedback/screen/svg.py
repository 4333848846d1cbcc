"""Pictures as SVG: every mark as its element, and what it says in words for a screen reader.

The user units of the file are the units of the sheet. Texts stay texts, in DejaVu Sans where that is there;
so another font may be wider than what the picture was laid out for.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from feedback.screen.inks import LOOKS
from feedback.screen.marks import Box, Line, Mark, Picture, Point, Ring, Shape, Text
from feedback.writing import beside

_ANCHORS = {"left": "start", "center": "middle", "right": "end"}
_FAMILY = "'DejaVu Sans', sans-serif"
_DASHES = "9 7"


def svg(picture: Picture, look: str = "paper", *, title: str = "", told: str = "") -> str:
    """A picture as an SVG document.

    Parameters
    ----------
    picture : Picture
    look : str
        A row of `feedback.screen.inks.LOOKS`.
    title : str
        Its name; by default its first text.
    told : str
        What it says, for who cannot see it; by default all of its texts.

    Raises
    ------
    KeyError
        If there is no such look.
    """
    inks = {name: "#{:02x}{:02x}{:02x}".format(*rgb) for name, rgb in LOOKS[look].items()}
    sheet = picture.sheet
    wide, high = _number(sheet.wide), _number(sheet.high)
    texts = picture.texts
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" '
        f'width="{_number(sheet.wide * sheet.scale)}" height="{_number(sheet.high * sheet.scale)}" '
        f'role="img" aria-labelledby="title told">',
        f'<title id="title">{_plain(title or next(iter(texts), ""))}</title>',
        f'<desc id="told">{_plain(told or ". ".join(texts))}</desc>',
        f'<rect width="{wide}" height="{high}" fill="{inks[picture.paper]}"/>',
        *(element for mark in picture.marks for element in _elements(mark, inks)),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def write_svg(
    picture: Picture, path: str | Path, look: str = "paper", *, title: str = "", told: str = ""
) -> None:
    """Write a picture as an SVG file: whole or not at all.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    text = svg(picture, look, title=title, told=told)
    beside(Path(path), lambda part: part.write_text(text, encoding="utf-8"))


def _elements(mark: Mark, inks: dict[str, str]) -> Iterator[str]:
    match mark:
        case Text():
            if mark.text:
                yield _text(mark, inks)
        case Line():
            dashes = f' stroke-dasharray="{_DASHES}"' if mark.dashed else ""
            yield (
                f'<polyline points="{_points(mark.points)}" fill="none"{dashes}'
                f"{_stroke(mark.ink, mark.thick, inks)}/>"
            )
        case Shape():
            yield (
                f'<polygon points="{_points(mark.points)}" stroke-linejoin="round"'
                f"{_surface(mark.fill, mark.edge, mark.thick, inks)}/>"
            )
        case Ring():
            yield (
                f'<circle cx="{_number(mark.x)}" cy="{_number(mark.y)}" r="{_number(mark.radius)}"'
                f"{_surface(mark.fill, mark.edge, mark.thick, inks)}/>"
            )
        case Box():
            yield _box(mark, inks)


def _text(mark: Text, inks: dict[str, str]) -> str:
    weight = ' font-weight="bold"' if mark.bold else ""
    return (
        f'<text x="{_number(mark.x)}" y="{_number(mark.y)}" font-size="{_number(mark.size)}" '
        f'font-family="{_FAMILY}"{weight} text-anchor="{_ANCHORS[mark.anchor]}" '
        f'fill="{inks[mark.ink]}" xml:space="preserve">{_plain(mark.text)}</text>'
    )


def _box(mark: Box, inks: dict[str, str]) -> str:
    """A rectangle whose edge lies within it, as it is painted."""
    inset = mark.thick / 2 if mark.edge else 0.0
    wide, high = (max(0.0, size - 2 * inset) for size in (mark.wide, mark.high))
    corner = f' rx="{_number(mark.round)}"' if mark.round else ""
    return (
        f'<rect x="{_number(mark.x + inset)}" y="{_number(mark.y + inset)}" width="{_number(wide)}" '
        f'height="{_number(high)}"{corner}{_surface(mark.fill, mark.edge, mark.thick, inks)}/>'
    )


def _surface(fill: str, edge: str, thick: float, inks: dict[str, str]) -> str:
    inner = f" fill={quoteattr(inks[fill] if fill else 'none')}"
    return inner + (_stroke(edge, thick, inks) if edge else ' stroke="none"')


def _stroke(ink: str, thick: float, inks: dict[str, str]) -> str:
    return f' stroke="{inks[ink]}" stroke-width="{_number(thick)}"'


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(f"{_number(x)},{_number(y)}" for x, y in points)


def _plain(text: str) -> str:
    """A text as XML: what XML does not allow (most control characters) is left out."""
    return escape("".join(char for char in text if char >= " " and not "\ud800" <= char <= "\udfff"
                          and char not in "\ufffe\uffff"))  # fmt: skip


def _number(value: float) -> str:
    """A length to a hundredth, without what is not needed of it."""
    return f"{round(value, 2) + 0.0:g}" if abs(value) < 1e4 else f"{value:.2f}"
