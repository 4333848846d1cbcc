"""What can go wrong while listening. Each message is one line: what, the value, what is accepted."""

from __future__ import annotations


class SoundError(Exception):
    """Root of what the listener raises by itself."""


class BadSound(SoundError, ValueError):
    """The file opens, but what is in it cannot be listened to (empty, truncated, not audio)."""


class LibraryMissing(SoundError, OSError):
    """A system library that this task needs is not installed; the message says what to install."""


class WrongDevice(SoundError, ValueError):
    """What was given names no sound device, or more than one, or a channel that it has not."""


class DeviceTrouble(SoundError, OSError):
    """A sound device cannot be used: not there, busy, refuses the rate; the message says what would help."""


class NoDevice(DeviceTrouble):
    """There is no sound device of the kind that is needed."""
