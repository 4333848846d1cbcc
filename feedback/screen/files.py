"""Pictures as PNG files; as SVG see `feedback.screen.svg`."""

from __future__ import annotations

import pygame

from feedback.screen.marks import Picture
from feedback.screen.paint import Painter


def write_png(picture: Picture, path: str, *, look: str = "paper") -> None:
    """Paint a picture and write it as a PNG file, its size that of its sheet in pixels.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    sheet = picture.sheet
    surface = pygame.Surface((round(sheet.wide * sheet.scale), round(sheet.high * sheet.scale)))
    Painter(look).paint(surface, picture)
    save(surface, path)


def save(surface: pygame.Surface, path: str) -> None:
    """Write a surface as a PNG file.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    try:
        pygame.image.save(surface, path, "x.png")
    except pygame.error as error:
        raise OSError(f"{path}: could not be written ({error})") from error
