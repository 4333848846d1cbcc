"""What progress is asked of: a lick, a key or a chord, told from one another by what the journal has."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from routines.errors import BadRoutine
from routines.journal.records import Item
from routines.progress.how_far import family_of
from routines.progress.names import warm_up_of, whole_title
from routines.progress.types import AskedKind

_LICKS_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One of the three is given; none of them for everything.

    Attributes
    ----------
    lick, key, chord : str or None
        A lick's id stands for that lick in every key that it was moved to, unless it names one of them.
    """

    lick: str | None = None
    key: str | None = None
    chord: str | None = None

    @property
    def kind(self) -> AskedKind:
        """Which of them is given."""
        if self.lick is not None:
            return "lick"
        if self.key is not None:
            return "key"
        return "" if self.chord is None else "chord"

    def fits(self, item: Item) -> bool:
        """Whether an item belongs to the lick or the key that is asked for; of a chord it cannot be told."""
        if self.lick is not None:
            return self.lick in (item.lick, family_of(item.lick))
        return self.key is None or item.key == self.key


def asked_for(what: str, items: Iterable[Item], chords: Iterable[str], titles: dict[str, str]) -> Asked:
    """Find out whether a lick, a key or a chord is meant.

    Parameters
    ----------
    what : str
        As it was typed; capitals are read as small letters where nothing fits otherwise.
    items : iterable of Item
        All that was ever practised.
    chords : iterable of str
        All whose guide tones were ever asked for.
    titles : dict of str to str
        A lick's id to its title, which may be typed as well.

    Raises
    ------
    BadRoutine
        If nothing of it was practised; names what was.
    """
    licks: dict[str, str] = {}
    keys: list[str] = []
    for item in items:
        keys.append(item.key)
        if not warm_up_of(item.lick):
            licks |= {
                whole_title(titles.get(item.lick, item.lick)): item.lick,
                family_of(item.lick): family_of(item.lick),
            }
            licks[item.lick] = item.lick
    kinds = {
        "key": {key: key for key in sorted(set(keys))},
        "chord": {chord: chord for chord in sorted(set(chords))},
        "lick": licks,
    }
    typed = " ".join(what.replace("♭", "b").replace("♯", "#").split())
    for fold in (str, str.casefold):
        for kind, names in kinds.items():
            for name, meant in names.items():
                if fold(name) == fold(typed):
                    return Asked(**{kind: meant})
    raise BadRoutine(f"nothing practised that is called {what!r}: {_there_is(kinds)}")


def _there_is(kinds: dict[str, dict[str, str]]) -> str:
    licks = sorted(set(kinds["lick"].values()))
    more = f" and {len(licks) - _LICKS_NAMED} more" if len(licks) > _LICKS_NAMED else ""
    said = [
        f"{name} {' '.join(names)}"
        for name, names in (("keys", list(kinds["key"])), ("chords", list(kinds["chord"])))
        if names
    ]
    if licks:
        said.append(f"licks {', '.join(licks[:_LICKS_NAMED])}{more}")
    return "; ".join(said) or "the journal is empty"
