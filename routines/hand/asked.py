"""The notes that are wanted, onset by onset, with every set of places where each onset may be made.

Conventions: what the hand needs is in real frets (tab fret plus capo), the places are as in tab.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, product

from routines.asks import BEAT_QUARTERS
from routines.hand.grips import How, Need, Problem
from routines.hand.wanted import Given, Wanted
from routines.lick import quarter_sec
from routines.neck import Place

Chosen = tuple[int, Place]
"""A note, by its number, and where it is made."""

_ALTERNATIVES_MOST = 48


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One set of places for the notes of one onset.

    Attributes
    ----------
    places : tuple of Place
        In the order of the notes.
    needs : tuple of Need
        In the order of the notes; after them what must be planted for pull-offs to come.
    picked : tuple of int
        Which of the notes the right hand picks, from the fifth string to the first: their number here.
    strings : tuple of int
        Their strings.
    fixed : tuple of str
        The fingers that they must have; empty where free.
    sources : tuple of Chosen
        Earlier notes that slurs come from, and where those must have been made.
    to_slur : tuple of Chosen
        Notes of this onset that slurs will come from.
    problems : tuple of Problem
    """

    places: tuple[Place, ...]
    needs: tuple[Need, ...]
    picked: tuple[int, ...]
    strings: tuple[int, ...]
    fixed: tuple[str, ...]
    sources: tuple[Chosen, ...]
    to_slur: tuple[Chosen, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset:
    """All notes that begin at one time.

    Attributes
    ----------
    quarters, sec : float
        When; seconds from the downbeat of bar 1.
    notes : range
        Their numbers.
    alternatives : tuple of Alternative
    chord_changed : bool
        Whether the chord has changed since the onset before.
    bar_begins : bool
        Whether a bar line lies after the onset before.
    heavy : bool
        Whether it falls on an accent, or one of its notes is a seven or its due note.
    """

    quarters: float
    sec: float
    notes: range
    alternatives: tuple[Alternative, ...]
    chord_changed: bool
    bar_begins: bool
    heavy: bool


def onsets_of(wanted: Sequence[Wanted], given: Given) -> list[Onset]:
    """Put the notes together by onset; each must have a choice."""
    found: list[Onset] = []
    beat = BEAT_QUARTERS.get(given.quarters_a_bar, given.quarters_a_bar / 2)
    slurs = _slurs(wanted)
    for quarters, group in groupby(range(len(wanted)), key=lambda i: wanted[i].onset_quarters):
        members = list(group)
        before = found[-1].quarters if found else None
        found.append(
            Onset(
                quarters=quarters,
                sec=quarters * quarter_sec(given.tempo_half_bpm),
                notes=range(members[0], members[-1] + 1),
                alternatives=tuple(_alternatives(wanted, members, slurs, given.neck.capo)),
                chord_changed=before is not None
                and any(before < change <= quarters for change in given.changes_quarters),
                bar_begins=before is not None
                and before // given.quarters_a_bar < quarters // given.quarters_a_bar,
                heavy=quarters % beat == 0 or any(wanted[i].seven for i in members),
            )
        )
    return found


def _slurs(wanted: Sequence[Wanted]) -> dict[int, list[int]]:
    """Return the slurred notes that come from each note."""
    found: dict[int, list[int]] = {}
    for index, note in enumerate(wanted):
        if note.slurred_from is not None:
            found.setdefault(note.slurred_from, []).append(index)
    return found


def _alternatives(
    wanted: Sequence[Wanted], members: Sequence[int], slurs: dict[int, list[int]], capo: int
) -> list[Alternative]:
    sets = list(product(*(_choices(wanted, i, slurs) for i in members)))
    apart = [s for s in sets if len({place.string for place, _ in s}) == len(s)]
    chosen = (apart or sets)[:_ALTERNATIVES_MOST]
    return [_alternative(wanted, members, slurs, capo, one) for one in chosen]


def _choices(
    wanted: Sequence[Wanted], index: int, slurs: dict[int, list[int]]
) -> list[tuple[Place, Place | None]]:
    """Return where a note may be made, each with where the note that it is slurred from is made then.

    Where slurs come from it, or it is slurred itself, strings that the other note cannot have are left out,
    if there are others.
    """
    note = wanted[index]
    strings = [{p.string for p in wanted[i].choices} for i in slurs.get(index, ())]
    places = [p for p in note.choices if all(p.string in one for one in strings)] or list(note.choices)
    if note.slurred_from is None or note.picked:
        return [(place, None) for place in places]
    before = wanted[note.slurred_from].choices
    joined: list[tuple[Place, Place | None]] = [
        (p, s) for p in places for s in before if s.string == p.string
    ]
    return joined or [(place, None) for place in places]


def _alternative(
    wanted: Sequence[Wanted],
    members: Sequence[int],
    slurs: dict[int, list[int]],
    capo: int,
    chosen: tuple[tuple[Place, Place | None], ...],
) -> Alternative:
    places = tuple(place for place, _ in chosen)
    needs, sources, problems = [], [], []
    for index, (place, source) in zip(members, chosen, strict=True):
        note = wanted[index]
        need = _need(note, place, source, capo)
        needs.append(need)
        if source is not None and note.slurred_from is not None:
            sources.append((note.slurred_from, source))
        elif not note.picked:
            problems.append(Problem("across", (need,)))
    if len({place.string for place in places}) < len(places):
        problems.append(Problem("one string", tuple(needs)))
    to_slur = tuple((i, place) for i, place in zip(members, places, strict=True) if i in slurs)
    planted = [need for i, place in to_slur for need in _planted(wanted, slurs[i], place, capo)]
    picked = tuple(
        sorted((n for n, i in enumerate(members) if wanted[i].picked), key=lambda n: (-places[n].string, n))
    )
    return Alternative(
        places=places,
        needs=(*needs, *planted),
        picked=picked,
        strings=tuple(places[n].string for n in picked),
        fixed=tuple(wanted[members[n]].finger for n in picked),
        sources=tuple(sources),
        to_slur=to_slur,
        problems=tuple(problems),
    )


def _need(note: Wanted, place: Place, source: Place | None, capo: int) -> Need:
    fret = _real(place.fret, capo)
    if source is not None and note.technique in ("hammer", "pull", "slide"):
        return Need(place.string, fret, note.technique, _real(source.fret, capo))
    if note.technique == "slide" and note.picked:
        begins = place.fret - note.from_frets
        return Need(place.string, fret, "inside", begins + capo if begins > 0 else 0)
    if note.technique == "choke":
        return Need(place.string, fret, "choke", note.from_frets)
    return Need(place.string, fret)


def _real(fret: int, capo: int) -> int:
    return fret + capo if fret else 0


def _planted(wanted: Sequence[Wanted], slurred: Sequence[int], place: Place, capo: int) -> Iterator[Need]:
    """Yield what must lie under a note for the pull-offs that come from it."""
    how: How = "plant"
    for index in slurred:
        frets = [p.fret for p in wanted[index].choices if p.string == place.string]
        if wanted[index].technique == "pull" and frets and 0 < frets[0] < place.fret:
            yield Need(place.string, _real(frets[0], capo), how)
