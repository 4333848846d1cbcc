"""Short notation for what hands are to play: `"3/2 2/1 1/0+5/0 . 1/3 p1/2"`, an eighth a word."""

from __future__ import annotations

from routines.hand.playing import best
from routines.hand.wanted import Given, Played, Wanted
from routines.lick import Technique
from routines.neck import Neck, Place

SLURS: dict[str, Technique] = {"h": "hammer", "p": "pull", "s": "slide"}


def asked(text: str, *, step: float = 0.5) -> list[Wanted]:
    """Read notes, `step` quarters apart.

    `.` is a rest, `+` a pinch, `h p s` before a note a slur from the last one of its string, `c` a choke by a
    half step, `|` between places the choices of a note, `:T` after it its finger.
    """
    found: list[Wanted] = []
    for number, word in enumerate(text.split()):
        for one in word.split("+") if word != "." else ():
            sign = one[0] if one[0] in "hpsc" else ""
            where, _, finger = one.removeprefix(sign).partition(":")
            choices = tuple(Place(*map(int, place.split("/"))) for place in where.split("|"))
            strings = {place.string for place in choices}
            sources = [i for i, n in enumerate(found) if any(p.string in strings for p in n.choices)]
            found.append(
                Wanted(
                    onset_quarters=number * step,
                    choices=choices,
                    technique="choke" if sign == "c" else SLURS.get(sign, "pick"),
                    picked=sign not in SLURS,
                    slurred_from=sources[-1] if sign in SLURS else None,
                    from_frets=1 if sign == "c" else 0,
                    finger=finger,
                )
            )
    return found


def played(
    text: str, *, tempo: float = 100, capo: int = 0, changes: tuple[float, ...] = (), step: float = 0.5
) -> Played:
    """Find the best way through notes as `asked` reads them."""
    given = Given(neck=Neck(capo=capo), tempo_half_bpm=tempo, quarters_a_bar=4.0, changes_quarters=changes)
    found = best(asked(text, step=step), given)
    assert found is not None
    return found


def left(text: str, **how: object) -> dict[str, int]:
    """Return place to finger, for notes of which each place has one finger."""
    found = played(text, **how)  # type: ignore[arg-type]
    assert found.troubles == ()
    by_place: dict[str, set[int]] = {}
    for place, finger in zip(found.places, found.left, strict=True):
        by_place.setdefault(str(place), set()).add(finger)
    assert all(len(fingers) == 1 for fingers in by_place.values()), by_place
    return {place: fingers.pop() for place, fingers in by_place.items()}
