"""How each kind of warm-up looks at its guide tones: which count, in which places, and their names."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from feedback.grid import EIGHTH_QUARTERS
from feedback.warmup_faults import Grouping
from feedback.warmup_told import Guide
from routines.warmups.steps import Watched


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """How one kind of warm-up is looked at.

    Attributes
    ----------
    where : callable
        The place of a guide tone, as a sentence about it begins; it may be empty.
    name : callable
        What it is called there.
    every : str
        How all places together are told, with braces for their number.
    one, many : str
        What a guide tone is called where no place stands out.
    counts : callable
        Which are looked at.
    wider : sequence of callable
        Wider places, the narrower first.
    thirds : bool
        Whether marked thirds are counted, too.
    remedies : mapping
        How they failed to what helps here, where that is another thing than elsewhere.
    """

    where: Callable[[Guide], str]
    name: Callable[[Guide], str]
    every: str
    one: str = "the seven"
    many: str = "sevens"
    counts: Callable[[Guide], bool] = lambda guide: True
    wider: Sequence[Grouping] = ()
    thirds: bool = False
    remedies: Mapping[str, str] = field(default_factory=dict)

    def place(self, guide: Guide) -> str:
        """Where it stands, and what it is called there."""
        return f"{self.where(guide)} {self.name(guide)}".strip()


def _eighth(guide: Guide) -> int:
    return int(guide.note.onset_quarters % guide.lick.quarters_a_bar / EIGHTH_QUARTERS) + 1


def _even_or_odd(guide: Guide) -> str:
    return f"on the {'odd' if _eighth(guide) % 2 else 'even'} eighths"


def _in_chain(guide: Guide) -> str:
    return "in the chains" if guide.next_chord.endswith("7") else "at the plain chord"


def _shape(guide: Guide) -> str:
    return f"in shapes with the seven {'on top' if guide.note.string == 1 else 'inside'}"


_SLURRED = MappingProxyType({"hammer": "hammered", "pull": "pulled-off", "slide": "slid", "choke": "choked"})

ROWS: Mapping[Watched, Row] = MappingProxyType(
    {
        "sevens": Row(
            where=lambda guide: f"over {guide.chord}",
            name=lambda guide: guide.name,
            every="in {} chords",
            many="sevens of the thumb",
            counts=lambda guide: guide.note.finger == "T",
            remedies=MappingProxyType({"late": "the thumb goes to it sooner"}),
        ),
        "chains": Row(
            where=_in_chain,
            name=lambda guide: f"the {guide.voice}",
            every="of {} kinds",
            one="the guide tone",
            many="guide tones",
            wider=(_in_chain,),
            thirds=True,
            remedies=MappingProxyType({"late": "have both fingers down before the pinch"}),
        ),
        "slurs": Row(
            where=lambda guide: "",
            name=lambda guide: f"the {_SLURRED[guide.note.technique]} {guide.name}",
            every="of {} kinds",
            one="the slurred seven",
            many="slurred sevens",
            counts=lambda guide: guide.note.technique in _SLURRED,
        ),
        "places": Row(
            where=lambda guide: f"on eighth {_eighth(guide)}",
            name=lambda guide: "the seven",
            every="on {} eighths",
            wider=(_even_or_odd,),
        ),
        "doors": Row(
            where=lambda guide: f"before {guide.next_chord}",
            name=lambda guide: guide.name,
            every="before {} chords",
        ),
        "strings": Row(
            where=lambda guide: f"on string {guide.note.string}",
            name=lambda guide: f"{guide.name} of {guide.chord}",
            every="in {} places",
            wider=(lambda guide: f"on string {guide.note.string}",),
            remedies=MappingProxyType({"late": "look for the next one while this one still rings"}),
        ),
        "chops": Row(
            where=lambda guide: f"in {guide.chord}, string {guide.note.string},",
            name=lambda guide: guide.name,
            every="in {} shapes",
            wider=(_shape,),
            remedies=MappingProxyType({"late": "have the shape down before the beat"}),
        ),
        "keys": Row(
            where=lambda guide: f"in {guide.told.step.lick.key}",
            name=lambda guide: guide.name,
            every="in {} keys",
        ),
    }
)
"""What is watched to how it is told."""
