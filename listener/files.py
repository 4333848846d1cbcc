"""Sound files: blocks of mono sound from any of them, and everything that an ear hears in one.

WAV, FLAC, OGG and MP3 (and what else libsndfile reads), any sample rate, any number of channels, in blocks of
bounded memory. Channels are averaged: a dead channel makes a take quieter by 6 dB and changes nothing else,
as all that the ear compares is relative.

A file that opens but is empty, cut short or no sound raises `BadSound` in one line; what the operating system
says (no such file, no permission, a directory) goes through as it is. A file found to be cut short only while
it is decoded raises when that is found, after the reports on what came before.

Times are seconds of the file. Where the rate is changed, `heard_sec` counts what had been read of the file,
and `settled_sec` is later than the ear's by the greatest lag of the resampler.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterator
from contextlib import nullcontext
from dataclasses import dataclass
from os import PathLike, fspath
from types import TracebackType
from typing import Any

import numpy as np

from listener.containers import foreign, missing
from listener.decoder import converted, decoder, decoder_path, decoder_quiet, said_by_decoder
from listener.ear import Ear
from listener.errors import BadSound
from listener.framing import cleaned
from listener.notes import NoteEvent, Report, doubtful, standing
from listener.rates import FileClock, Resampler

BLOCK_FRAMES = 4096
_TALKATIVE = ("MP3", "MPEG")
ACCEPTED = "WAV, FLAC, OGG or MP3 is accepted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """What was heard in a file.

    Attributes
    ----------
    sample_rate : int
        Of the file, in Hz.
    duration_sec : float
    tuning_cents : float
        How far the instrument is tuned from A4 = 440 Hz; 0 where nothing was heard.
    notes, withdrawn, doubtful : tuple of NoteEvent
        By onset; see `listener.notes`.
    """

    sample_rate: int
    duration_sec: float
    tuning_cents: float
    notes: tuple[NoteEvent, ...]
    withdrawn: tuple[NoteEvent, ...]
    doubtful: tuple[NoteEvent, ...] = ()


class SoundFile:
    """An open sound file; a context manager.

    Parameters
    ----------
    path : path-like

    Attributes
    ----------
    sample_rate : int
        In Hz.
    frames : int
        As promised by the file.

    Raises
    ------
    BadSound
        If it is empty, cut short, has no frames, or is no sound that can be read.
    LibraryMissing
        If libsndfile is not installed.
    OSError
        As `open` does.
    """

    def __init__(self, path: str | PathLike[str]) -> None:
        self._path = fspath(path)
        kind = stat.S_IFMT(os.stat(self._path).st_mode)
        if kind not in (stat.S_IFREG, stat.S_IFDIR):  # opening a pipe would wait for ever
            raise BadSound(f"{self._path}: no ordinary file; {ACCEPTED}")
        with open(self._path, "rb") as file:
            if not file.read(1):
                raise BadSound(f"{self._path}: the file is empty; {ACCEPTED}")
            lack, kind_of_sound = missing(file), foreign(file)
        if lack is not None:
            raise BadSound(f"{self._path}: cut short, {lack}; a whole file is needed: {ACCEPTED}")
        if kind_of_sound is not None:
            raise BadSound(
                f"{self._path}: {kind_of_sound} cannot be read; {ACCEPTED}; {converted(self._path)}"
            )
        self._library = decoder()
        try:
            with decoder_quiet():
                self._sound: Any = self._library.SoundFile(decoder_path(self._path))
        except self._library.SoundFileError as error:
            raise BadSound(
                f"{self._path}: no sound that can be read ({said_by_decoder(error)}); {ACCEPTED}"
            ) from error
        self.sample_rate: int = self._sound.samplerate
        self._talkative = self._sound.format in _TALKATIVE
        self.frames: int = self._sound.frames
        if self.frames <= 0:
            self._sound.close()
            raise BadSound(f"{self._path}: no sound in it, 0 frames; at least one is needed")

    def __enter__(self) -> SoundFile:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._sound.close()

    def blocks(self, block_frames: int = BLOCK_FRAMES) -> Iterator[np.ndarray]:
        """Read from where it stands to the end.

        Parameters
        ----------
        block_frames : int
            Length of a block, at least 1; the last one may be shorter.

        Yields
        ------
        ndarray of float32, shape (n,)
            The mean of the channels, finite.

        Raises
        ------
        BadSound
            If the decoder fails, or finds fewer frames than the file promised.
        """
        read = 0
        while True:
            try:
                with decoder_quiet() if self._talkative else nullcontext():
                    frames = self._sound.read(block_frames, dtype="float32", always_2d=True)
            except self._library.SoundFileError as error:
                raise self._broken(read, said_by_decoder(error)) from error
            if not len(frames):
                break
            read += len(frames)
            yield cleaned(cleaned(frames).mean(axis=1))
        if read < self.frames:
            raise self._broken(read, "the file ends there")

    def _broken(self, read: int, why: str) -> BadSound:
        return BadSound(
            f"{self._path}: broken or cut short after {read} of {self.frames} frames ({why}); "
            f"a whole file is needed: {ACCEPTED}"
        )


def heard_in(
    sound: SoundFile, *, ear: Callable[[int], Ear] = Ear, block_frames: int = BLOCK_FRAMES
) -> Iterator[tuple[float, list[Report], float]]:
    """Run a file through an ear, block by block.

    Parameters
    ----------
    sound : SoundFile
        Read from where it stands to its end.
    ear : callable
        Makes an ear for a sample rate.
    block_frames : int
        Changes how often something is said, never what.

    Yields
    ------
    (float, list of Report, float)
        Seconds of the file read so far, what was said about them, and the instrument's tuning in cents as
        known by then. The last one settles all that was heard.

    Raises
    ------
    BadSound
        As `SoundFile.blocks`.
    """
    resampler = Resampler(sound.sample_rate)
    listening = ear(resampler.rate_out)
    clock = FileClock(sound.sample_rate, resampler.latency_sec)
    read = 0
    for block in sound.blocks(block_frames):
        read += len(block)
        reports: list[Report] = []
        for given, samples in resampler.feed(block):
            reports += clock.of_file(listening.feed(samples), given)
        yield read / sound.sample_rate, reports, listening.tuning_cents
    last = clock.of_file(listening.feed(resampler.finish()) + listening.flush(), read, at_end=True)
    yield read / sound.sample_rate, last, listening.tuning_cents


def hear_file(path: str | PathLike[str], *, ear: Callable[[int], Ear] = Ear) -> Hearing:
    """Everything that is heard in a file.

    Parameters
    ----------
    path : path-like
    ear : callable
        Makes an ear for a sample rate.

    Returns
    -------
    Hearing

    Raises
    ------
    BadSound, LibraryMissing, OSError
        As `SoundFile` and `SoundFile.blocks`.
    """
    reports: list[Report] = []
    duration_sec = tuning_cents = 0.0
    with SoundFile(path) as sound:
        for duration_sec, said, tuning_cents in heard_in(sound, ear=ear):  # noqa: B007
            reports += said
        notes, withdrawn = standing(reports)
        return Hearing(
            sample_rate=sound.sample_rate,
            duration_sec=duration_sec,
            tuning_cents=tuning_cents,
            notes=tuple(notes),
            withdrawn=tuple(withdrawn),
            doubtful=tuple(doubtful(reports)),
        )
