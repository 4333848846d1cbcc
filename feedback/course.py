"""How a player's time goes: a straight line through what was played, and a gentle bend where there is one.

The line is a median of slopes (Theil 1950, Sen 1968), so that a few late notes do not tilt it. Who speeds up
or slows down smoothly plays along a parabola: over two bars, 15 % of tempo make some 40 to 80 ms between its
middle and its ends, which a straight line would call late and early notes. The parabola is fitted by least
absolute deviations (weights found in turns: Schlossmacher 1973), so that what most notes keep to decides.

A hurry to a change looks like a little of a parabola, too. So a bend is taken for a habit only where it
leaves clearly less over than the line does, a note far off being as far off by either (`bend_of`); in a tempo
course, which blames nobody, it counts as far as the unevenness lets believe it (`course_of`). Measured on
made-up deviations of all licks (6.5 ms of unevenness, tempos of half to 1.05 of the top): a bend is seen in 3
of 100 steady passes and in 98 of 100 whose tempo changes by 15 %; called by the line one note in nine of the
latter would change its verdict, with the bend one in two thousand. Of 100 hurries at the change 87 are called
still, without any bend 91, and with `course_of` in its place 56. A hurry while the tempo changes is mostly
taken for some of that change: 29 of 100 are called.

Conventions: values over places, in any unit; a bend is in values over places squared, about the median place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

FEWEST_FOR_BEND = 8
"""Notes that a bend needs."""

STRAIGHT_SEC = 0.003
"""What lies within this of a straight line, in the mean, is straight."""

_MANY = 12
_LEAVES_OF_FEW, _LEAVES_OF_MANY = 0.57, 0.73
_FEWEST_EVEN = 3
_OUTLIER, _UNEVEN_SEC = 4.0, 0.008
_TURNS, _STILL_SEC = 12, 2e-5
_HAIR_SHARE = 1e-9
_SPREAD_OF_MEDIAN = 1.48

_Values = Sequence[float] | np.ndarray


def slope_of(places: _Values, values: _Values, apart: float) -> float:
    """The median of the slopes between all notes at least so far apart; 0 where there are none.

    Parameters
    ----------
    places, values : sequence of float, or ndarray of shape (n,)
    apart : float
        More than 0.

    Returns
    -------
    float
    """
    x, y = np.asarray(places, float), np.asarray(values, float)
    run = x[None, :] - x[:, None]
    far = run >= apart
    return float(np.median((y[None, :] - y[:, None])[far] / run[far])) if far.any() else 0.0


def bend_of(places: _Values, values: _Values, even: Sequence[bool] | np.ndarray) -> float:
    """How values bend away from a straight line, where they clearly do.

    Parameters
    ----------
    places, values : sequence of float, or ndarray of shape (n,)
        Values in seconds.
    even : sequence of bool
        Of notes on even eighths, which may all come later by the same.

    Returns
    -------
    float
        What to multiply with the square of the distance from the median place; 0 where a straight line does
        about as well, or where there are fewer than `FEWEST_FOR_BEND` notes.
    """
    columns, y, half = _columns(places, values, even)
    if len(y) < FEWEST_FOR_BEND or half <= 0.0:
        return 0.0
    by_line = _least_absolute(columns[:, :-1], y)[1]
    if by_line.mean() <= STRAIGHT_SEC:
        return 0.0
    found, by_bend = _least_absolute(columns, y)
    most = _OUTLIER * max(_SPREAD_OF_MEDIAN * float(np.median(by_bend)), _UNEVEN_SEC)
    leaves = np.minimum(by_bend, most).sum() / np.minimum(by_line, most).sum()
    clear = leaves <= (_LEAVES_OF_MANY if len(y) >= _MANY else _LEAVES_OF_FEW)
    return float(found[-1]) / half**2 if clear else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A line with a bend, and how much more the even eighths have.

    Attributes
    ----------
    about : float
        The place about which it is written.
    level, slope, bend : float
        The value there, and what distance from there and its square are multiplied with.
    even : float
        What values on even eighths have on top.
    """

    about: float
    level: float
    slope: float
    bend: float
    even: float


def course_of(
    places: _Values, values: _Values, even: Sequence[bool] | np.ndarray, usual_change: float
) -> Course:
    """The course of values, with a bend as far as their unevenness lets believe it.

    Parameters
    ----------
    places, values, even
        As `bend_of`; one note at least.
    usual_change : float
        By how much slopes usually differ from end to end, more than 0.

    Returns
    -------
    Course
        Straight with fewer than `FEWEST_FOR_BEND` notes, and nearly so where a bend is not sure; about the
        median place.
    """
    columns, y, half = _columns(places, values, even)
    bend = 0.0
    if len(y) >= FEWEST_FOR_BEND and half > 0.0:
        found, left = _least_absolute(columns, y, rounded=True)
        free = max(1, len(y) - columns.shape[1])
        uneven = _SPREAD_OF_MEDIAN * float(np.median(left)) * (len(y) / free) ** 0.5
        error = uneven * float(np.linalg.pinv(columns.T @ columns)[-1, -1]) ** 0.5
        usual = usual_change * half / 4.0
        bend = float(found[-1]) * usual**2 / (usual**2 + error**2)
    found, _ = _least_absolute(columns[:, :-1], y - bend * columns[:, -1], rounded=True)
    return Course(
        about=float(np.median(places)),
        level=float(found[0]),
        slope=float(found[1]) / half if half > 0.0 else 0.0,
        bend=bend / half**2 if half > 0.0 else 0.0,
        even=float(found[2]) if len(found) > 2 else 0.0,
    )


def _columns(
    places: _Values, values: _Values, even: Sequence[bool] | np.ndarray
) -> tuple[np.ndarray, np.ndarray, float]:
    """What is fitted: level, slope, the even eighths where there are some, bend; and half the length."""
    x, y, late = np.asarray(places, float), np.asarray(values, float), np.asarray(even, bool)
    half = float(np.ptp(x)) / 2.0 if len(x) else 0.0
    along = (x - np.median(x)) / half if half > 0.0 else np.zeros(len(x))
    columns = [np.ones(len(x)), along]
    if min(late.sum(), (~late).sum()) >= _FEWEST_EVEN:
        columns.append(late.astype(float))
    return np.stack([*columns, along * along], axis=1), y, half


def _least_absolute(
    columns: np.ndarray, values: np.ndarray, *, rounded: bool = False
) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients that make the mean size of what is left smallest, and the size of each that is left.

    `rounded`: what is left within the usual unevenness counts by its square (Huber 1964), which makes the
    most of few notes.
    """
    weights, least = np.ones(len(values)), STRAIGHT_SEC
    before = np.full(len(values), np.inf)
    for _ in range(_TURNS):
        weighted = columns.T * weights
        square = weighted @ columns
        square.flat[:: len(square) + 1] += _HAIR_SHARE * np.trace(square)  # few places tell not all apart
        found = np.linalg.solve(square, weighted @ values)
        left = np.abs(values - columns @ found)
        if np.abs(left - before).max() < _STILL_SEC:
            break
        if rounded:
            least = max(STRAIGHT_SEC, _SPREAD_OF_MEDIAN * float(np.median(left)))
        weights, before = 1.0 / np.maximum(left, least), left
    return found, left
