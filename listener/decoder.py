"""The decoder of sound files, libsndfile through soundfile: loaded late, kept quiet, its words put right."""

from __future__ import annotations

import importlib
import os
import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType

from listener.errors import LibraryMissing


def decoder_path(path: str) -> str | bytes:
    """A path as libsndfile takes it, whatever bytes its name is made of."""
    return os.fsencode(path) if os.name == "posix" else path


@contextmanager
def decoder_quiet() -> Iterator[None]:
    """Keep what the MP3 decoder writes to the process's standard error, line by line, from the player."""
    try:
        kept = os.dup(2)
    except OSError:  # standard error is closed
        yield
        return
    try:
        with open(os.devnull, "wb") as nowhere:
            os.dup2(nowhere.fileno(), 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def decoder() -> ModuleType:
    """libsndfile, loaded on first use; `LibraryMissing` where the system has none."""
    try:
        soundfile = importlib.import_module("soundfile")
    except OSError as error:
        raise LibraryMissing(
            f"libsndfile cannot be loaded ({error}); install it, for instance the package libsndfile1"
        ) from error
    return soundfile


def said_by_decoder(error: Exception) -> str:
    """What the library said, without the path and the full stop that it adds."""
    said = str(getattr(error, "error_string", error)).rstrip(".")
    # libsndfile says so of any file with the ending of an MP3 and no frame in it.
    return "no sound format that is known" if said.startswith("File does not exist") else said


def converted(path: str) -> str:
    """How to make a file that can be read of one that cannot, as a player may type it."""
    whole = os.fsdecode(path)
    stem, ending = os.path.splitext(whole)
    made = f"{stem}.wav" if ending.lower() != ".wav" else f"{stem}-converted.wav"
    return f"convert it first: ffmpeg -i {shlex.quote(whole)} {shlex.quote(made)}"
