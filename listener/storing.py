"""Sound written to a file."""

from __future__ import annotations

from os import PathLike

import numpy as np

from listener.decoder import decoder, decoder_path, said_by_decoder
from listener.framing import cleaned


def write_flac(path: str | PathLike[str], sound: np.ndarray, rate: int) -> None:
    """Write a mono sound as FLAC, 24 bits.

    Parameters
    ----------
    path : path-like
        Ends in .flac; what is there is overwritten.
    sound : ndarray, shape (n,)
        Full scale is 1; what is louder is held there.
    rate : int
        Samples a second.

    Raises
    ------
    LibraryMissing
        If libsndfile is not installed.
    OSError
        If the file cannot be written.
    """
    library = decoder()
    try:
        library.write(
            decoder_path(str(path)), np.clip(cleaned(sound), -1.0, 1.0), rate, format="FLAC", subtype="PCM_24"
        )
    except library.SoundFileError as error:
        raise OSError(5, f"cannot be written ({said_by_decoder(error)})", str(path)) from error
