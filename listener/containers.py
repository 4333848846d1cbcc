"""Whether a sound file was cut short, and whether it is of a kind that is not read, as its container tells.

The decoder shortens a cut WAV, AIFF or OGG to what is there and says nothing, and warns on standard error of
a cut MP3. A take whose end is missing must not be judged as if the player had stopped, so what the container
promises is compared with the file itself before it is decoded. FLAC is left to the decoder, which fails by
itself; an MP3 without a Xing header promises nothing.

Phones record AAC in an MP4, which the decoder does not know. Such files, and a few more of their sort, are
known by their first bytes, whatever they are called, so that a player can be told what to do with them.

Sources: Multimedia Programming Interface and Data Specifications 1.0 (RIFF), 1991; Apple, Audio Interchange
File Format, 1989; RFC 3533 (Ogg), section 6; the Xing header as written by the LAME encoder; ISO 14496-12,
sections 4.3, 8.2 and 8.5 (boxes of an MP4); ISO 13818-7, section 6.2 (ADTS); RFC 4867, section 5 (AMR).
"""

from __future__ import annotations

import os
import struct
from collections.abc import Callable
from typing import BinaryIO

_UNKNOWN_SIZES = (0, 0xFFFFFFFF, 0xFFFFFFFE)  # written by recorders that stream
_OGG_LAST_PAGE = 1 << 17  # no page is longer than 65,307 bytes
_OGG_END_OF_STREAM = 4
_XING_FRAMES, _XING_BYTES = 1, 2
_XING_SLACK = 0.01  # share of its size by which the header may be wrong: the decoder's own limit

_FOREIGN = (
    (b"\xff\xf0", "AAC sound"),
    (b"\xff\xf1", "AAC sound"),
    (b"\xff\xf8", "AAC sound"),
    (b"\xff\xf9", "AAC sound"),
    (b"ADIF", "AAC sound"),
    (b"#!AMR", "AMR sound"),
    (b"\x30\x26\xb2\x75\x8e\x66\xcf\x11", "Windows Media sound"),
    (b"\x1a\x45\xdf\xa3", "sound in a Matroska or WebM container"),
)
_BRANDS = ((b"qt  ", "a QuickTime container"), (b"3g", "a 3GP container"))
_CODINGS = ((b"mp4a", "AAC"), (b"alac", "Apple Lossless"), (b"samr", "AMR"), (b"sawb", "AMR"))
_INDEX_MOST = 1 << 22  # bytes of an MP4's index that are looked through


def missing(file: BinaryIO) -> str | None:
    """What a file lacks of what its container promises.

    Parameters
    ----------
    file : binary file
        Seekable; left at an arbitrary place.

    Returns
    -------
    str or None
        What is missing, in words; None where nothing is known to be missing.
    """
    size = file.seek(0, os.SEEK_END)
    file.seek(0)
    head = file.read(12)
    if _boxed(head):
        return None if _index(file) is not None else "its index is missing"
    for start, check in _CHECKS:
        if head.startswith(start):
            return check(file, size)
    return None


def foreign(file: BinaryIO) -> str | None:
    """What a file holds, where that is sound of a kind that the decoder does not read.

    Parameters
    ----------
    file : binary file
        Seekable; left at an arbitrary place.

    Returns
    -------
    str or None
        The kind, in words ("AAC sound in an MP4 container"); None where the decoder may know it.
    """
    file.seek(0)
    head = file.read(12)
    if _boxed(head):
        container = next((name for brand, name in _BRANDS if head[8:].startswith(brand)), "an MP4 container")
        entries = (_index(file) or b"").split(b"stsd")[1:]
        held = {entry[12:16] for entry in entries}
        coding = next((f"{name} sound" for code, name in _CODINGS if code in held), "sound")
        return f"{coding} in {container}"
    return next((kind for start, kind in _FOREIGN if head.startswith(start)), None)


def _boxed(head: bytes) -> bool:
    return head[4:8] == b"ftyp"


def _index(file: BinaryIO) -> bytes | None:
    """The box of an MP4 that says what is in it, which may lie at its end; None where it is not there."""
    at, size = 0, file.seek(0, os.SEEK_END)
    while at + 8 <= size:
        file.seek(at)
        length, name = struct.unpack(">I4s", file.read(8))
        if length == 1:
            length = int.from_bytes(file.read(8), "big")
        if name == b"moov":
            return file.read(min(length, _INDEX_MOST)) if at + length <= size else None
        if length < 8:  # to the end of the file, or nonsense
            return None
        at += length
    return None


def _short(there: int, promised: int) -> str | None:
    if there >= promised:
        return None
    return f"only {there} of {promised} bytes of sound are there"


def _riff(file: BinaryIO, size: int) -> str | None:
    at = 12
    while at + 8 <= size:
        file.seek(at)
        name, length = struct.unpack("<4sI", file.read(8))
        if name == b"data":
            return None if length in _UNKNOWN_SIZES else _short(size - at - 8, length)
        at += 8 + length + length % 2
    return "it ends before its sound begins"


def _aiff(file: BinaryIO, size: int) -> str | None:
    at = 12
    while at + 8 <= size:
        file.seek(at)
        name, length = struct.unpack(">4sI", file.read(8))
        if name == b"SSND":
            return _short(size - at - 8, length)
        at += 8 + length + length % 2
    return "it ends before its sound begins"


def _ogg(file: BinaryIO, size: int) -> str | None:
    begin = max(0, size - _OGG_LAST_PAGE)
    file.seek(begin)
    tail = file.read()
    page = tail.rfind(b"OggS\x00")
    header = tail[page : page + 27]
    if page < 0 or len(header) < 27:
        return "its last page is broken off"
    segments = tail[page + 27 : page + 27 + header[26]]
    whole = 27 + header[26] + sum(segments)
    if len(segments) < header[26] or page + whole > len(tail):
        return "its last page is broken off"
    return None if header[5] & _OGG_END_OF_STREAM else "its last page is missing"


def _mpeg(file: BinaryIO, size: int) -> str | None:
    begin = 0
    file.seek(0)
    head = file.read(10)
    if head.startswith(b"ID3") and len(head) == 10:
        begin = 10 + sum((byte & 0x7F) << shift for byte, shift in zip(head[6:], (21, 14, 7, 0), strict=True))
    file.seek(begin)
    frame = file.read(256)
    mark = max(frame.find(b"Xing"), frame.find(b"Info"))
    if mark < 0 or len(frame) < mark + 16:
        return None
    (flags,) = struct.unpack(">I", frame[mark + 4 : mark + 8])
    if not flags & _XING_BYTES:
        return None
    at = mark + 8 + (4 if flags & _XING_FRAMES else 0)
    (promised,) = struct.unpack(">I", frame[at : at + 4])
    return None if size - begin >= promised * (1.0 - _XING_SLACK) else _short(size - begin, promised)


_CHECKS: tuple[tuple[bytes, Callable[[BinaryIO, int], str | None]], ...] = (
    (b"RIFF", _riff),
    (b"FORM", _aiff),
    (b"OggS", _ogg),
    (b"ID3", _mpeg),
    (b"\xff\xfb", _mpeg),
    (b"\xff\xfa", _mpeg),
    (b"\xff\xf3", _mpeg),
    (b"\xff\xf2", _mpeg),
    (b"\xff\xe3", _mpeg),
    (b"\xff\xe2", _mpeg),
)
"""First bytes of a file, and the check for such a file."""
