"""Files that the bench writes."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np

from feedback.errors import Usage


def beside(path: Path, write: Callable[[Path], object]) -> None:
    """Write beside, then rename: a reader never finds half a file, and a failure leaves nothing.

    Parameters
    ----------
    path : pathlib.Path
    write : callable
        Writes the file that it is given, whose name ends as `path` does.

    Raises
    ------
    FileNotFoundError
        If the folder is not there.
    """
    if not path.parent.is_dir():
        raise FileNotFoundError(2, "No such folder", str(path.parent))
    part = path.with_name(f".{path.stem}.{os.getpid()}{path.suffix}")
    try:
        write(part)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)


def weights_file(name: str) -> Path:
    """Where weights are to be written.

    Parameters
    ----------
    name : str
        As typed.

    Raises
    ------
    Usage
        If it does not end with .npz, or its folder is not there.
    """
    out = Path(name)
    if out.suffix != ".npz" or not out.parent.is_dir():
        raise Usage(f"{out}: a name that ends with .npz, in a folder that is there, is needed")
    return out


def save_arrays(arrays: Mapping[str, np.ndarray], path: Path) -> None:
    """Write arrays as npz; for `beside`."""
    np.savez(path, **arrays)
