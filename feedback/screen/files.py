"""Pictures as PNG files; as SVG see `feedback.screen.svg`."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from feedback.screen.library import pygame
from feedback.screen.marks import Picture
from feedback.screen.paint import Painter
from feedback.writing import beside


def write_png(picture: Picture, path: str | Path, *, look: str = "paper") -> None:
    """Paint a picture and write it as a PNG file, its size that of its sheet in pixels; needs no display.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    sheet = picture.sheet
    surface = pygame.Surface((round(sheet.wide * sheet.scale), round(sheet.high * sheet.scale)))
    Painter(look).paint(surface, picture)
    save_beside(surface, path)


def save_beside(surface: pygame.Surface, path: str | Path) -> None:
    """Write a surface as a PNG file: whole or not at all.

    Raises
    ------
    OSError
        If it cannot be written.
    """

    made = BytesIO()  # the library does not tell every failure of a disk
    try:
        pygame.image.save(surface, made, "x.png")
    except pygame.error as error:
        raise OSError(f"{path}: could not be written ({error})") from error
    beside(Path(path), lambda part: part.write_bytes(made.getvalue()))
