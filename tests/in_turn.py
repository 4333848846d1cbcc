"""Many small cases of one test, one after the other: a test of its own for each costs more than the case."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import Any


@contextmanager
def naming(case: str) -> Iterator[None]:
    """Say in a note which case it was that went wrong."""
    try:
        yield
    except Exception as error:
        error.add_note(f"case {case}"[:2000])
        raise


def in_turn(names: str | tuple[str, ...], cases: Iterable[Any], ids: object = None) -> Callable[..., Any]:
    """Like `pytest.mark.parametrize`, but one test for all cases; the one that fails is named in a note.

    What fixtures give is the same for all cases, so it must not remember the case before.

    Parameters
    ----------
    names : str or tuple of str
        Of what differs, as pytest takes them.
    cases : iterable
        Values in the order of the names; bare where there is one name.
    ids : ignored
        Taken as pytest takes it.
    """
    wanted = [name.strip() for name in names.split(",")] if isinstance(names, str) else list(names)
    rows = [(case,) if len(wanted) == 1 else tuple(case) for case in cases]
    assert rows, "no case"

    def decorated(test: Callable[..., None]) -> Callable[..., None]:
        @wraps(test)
        def all_of_them(*args: Any, **given: Any) -> None:
            for number, row in enumerate(rows):
                case = dict(zip(wanted, row, strict=True))
                with naming(f"{number}: {case!r}"):
                    test(*args, **given, **case)

        asked = inspect.signature(test)
        left = [one for name, one in asked.parameters.items() if name not in wanted]
        all_of_them.__signature__ = asked.replace(parameters=left)  # type: ignore[attr-defined]  # pytest asks it
        return all_of_them

    return decorated
