"""Files written so that nothing is ever half there."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path


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
    OSError
        Of this file, if it cannot be written.
    """
    if not path.parent.is_dir():
        raise FileNotFoundError(2, "No such folder", str(path.parent))
    part = path.with_name(f".{path.stem}.{os.getpid()}{path.suffix}")
    try:
        write(part)
        os.replace(part, path)
    except OSError as error:
        if error.errno is None:
            raise
        raise OSError(error.errno, error.strerror, str(path)) from error
    finally:
        part.unlink(missing_ok=True)
