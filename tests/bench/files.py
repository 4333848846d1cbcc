"""Files of weights that the bench writes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from feedback.errors import Usage


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
    """Write arrays as npz; for `feedback.writing.beside`."""
    np.savez(path, **arrays)
