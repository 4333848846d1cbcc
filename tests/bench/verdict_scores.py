"""What was said of performances beside what was played: words, precision and recall, intervals.

The problem: a pass holds some sixteen notes and a seven or two, and one mishearing makes several of its words
wrong: its words are not independent, passes are. Everything is therefore counted performance by performance.

Conventions: an *item* is one thing that has a word in truth and a word that was said of it. Of a word,
precision is the share of items said to be it that are, recall the share of items that are it and were said to
be. Items that the listener called unclear are in neither, and their share stands beside them; items that are
unclear in truth (half a pinch) are left out. An added note is one of the same half step within `ADDED_SEC`.

A truth is *at a limit* where a hair would change its word: the window or the spread limit by `NUDGE_MS`, the
level of a swallowed seven by `NUDGE_DB`. There any listener tosses a coin; such items are counted like all
others, and how many of the errors are such is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from feedback.grid import Grid
from feedback.judges.limits import Limits
from feedback.judges.whole import Judged
from listener.notes import NoteEvent
from routines.outcome import Extra, SeventhVerdict
from tests.bench.note_scores import matched
from tests.bench.performances import Planned
from tests.bench.shares import Share, share

ADDED_SEC = 0.050
NUDGE_MS, NUDGE_DB = 3.0, 1.0
UNCLEAR = "unclear"
NOTHING = "nothing"
_YES_NO = ("yes", "no")

WORDS: dict[str, tuple[str, ...]] = {
    "note": ("landed", "early", "late", "wrong", "missed"),
    "added": ("added",),
    "foreign": ("foreign",),
    "sounded": _YES_NO,
    "seven landed": _YES_NO,
    "swallowed": _YES_NO,
    "resolution": ("resolved", "ahead", "late", "octave", "hanging", "none"),
    "as asked": _YES_NO,
    "clean": _YES_NO,
    "hurry": _YES_NO,
}
"""Kind of item to its words, in the order in which they are printed."""

_Key = tuple[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing with a word in truth and a word that was said of it.

    Attributes
    ----------
    kind : str
        A key of `WORDS`.
    index : int
        The target; of an added note its half step; -1 of what a pass has once.
    played, said : str
        One of the kind's words, `NOTHING` where a note was not added, or `UNCLEAR`.
    at_limit : bool
    sec : float or None
        When an added note came.
    """

    kind: str
    index: int
    played: str
    said: str
    at_limit: bool = False
    sec: float | None = None

    @property
    def counts(self) -> bool:
        """Whether both words are clear."""
        return UNCLEAR not in (self.played, self.said)

    @property
    def differs(self) -> bool:
        """Whether something else was said than was played, and clearly."""
        return self.counts and self.played != self.said


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One performance: what was played, what was heard, and what the judges say of both.

    Attributes
    ----------
    planned : Planned
    grid : Grid
    truth, said : Judged
    played, heard, doubtful : tuple of NoteEvent
    items : tuple of Item
    render_sec, listen_sec : float
        What it took.
    kept : bool
        Whether the sound had been made before.
    """

    planned: Planned
    grid: Grid
    truth: Judged
    said: Judged
    played: tuple[NoteEvent, ...]
    heard: tuple[NoteEvent, ...]
    doubtful: tuple[NoteEvent, ...]
    items: tuple[Item, ...]
    render_sec: float
    listen_sec: float
    kept: bool


def nudged(limits: Limits, window_ms: float) -> tuple[Limits, ...]:
    """The limits, each a hair to either side, for a pass whose window is so wide."""
    found = []
    for by in (-NUDGE_MS, NUDGE_MS):
        wide, spread = max(1.0, window_ms + by), limits.spread_limit_ms + by
        found.append(replace(limits, window_least_ms=wide, window_most_ms=wide, spread_limit_ms=spread))
    for by in (-NUDGE_DB, NUDGE_DB):
        picked, slurred = limits.swallowed_db + by, limits.swallowed_slurred_db + by
        found.append(replace(limits, swallowed_db=picked, swallowed_slurred_db=slurred))
    return tuple(found)


def items_of(truth: Judged, said: Judged, nearly: Sequence[Judged] = ()) -> tuple[Item, ...]:
    """Set what was said beside what was played.

    Parameters
    ----------
    truth, said : Judged
        Of the same lick.
    nearly : sequence of Judged
        Truth under limits that were nudged.

    Returns
    -------
    tuple of Item
    """
    words, others = words_of(truth), words_of(said)
    hairs = [words_of(one) for one in nearly]
    found = [
        Item(
            kind=kind,
            index=index,
            played=word,
            said=others[kind, index],
            at_limit=any(hair[kind, index] != word for hair in hairs),
        )
        for (kind, index), word in words.items()
    ]
    for kind in ("added", "foreign"):
        sides = [_extras(judged, kind) for judged in (truth, said, *nearly)]
        found += _added(kind, sides[0], sides[1], sides[2:])
    return tuple(found)


def words_of(judged: Judged) -> dict[_Key, str]:
    """The words of a judged pass, but for what was added: (kind, index) to word."""
    outcome = judged.outcome
    words: dict[_Key, str] = {("note", note.index): note.verdict for note in outcome.notes}
    for seven in outcome.sevenths:
        words["sounded", seven.index] = _yes_no(seven.sounded)
        words["seven landed", seven.index] = _yes_no(seven.landed)
        words["swallowed", seven.index] = _yes_no(seven.swallowed)
        words["resolution", seven.index] = seven.resolution
        words["as asked", seven.index] = _as_asked(seven)
    words["clean", -1] = _yes_no(outcome.clean)
    words["hurry", -1] = _yes_no(judged.hurried)
    return words


def _yes_no(value: bool | None) -> str:
    return UNCLEAR if value is None else ("yes" if value else "no")


def _as_asked(seven: SeventhVerdict) -> str:
    """Yes, no, unclear, or nothing: nothing was due, and so nothing asked."""
    if seven.as_asked is not None:
        return _yes_no(seven.as_asked)
    return UNCLEAR if seven.sounded is None or seven.resolution == UNCLEAR else NOTHING


def _extras(judged: Judged, kind: str) -> list[Extra]:
    return [extra for extra in judged.outcome.extras if extra.foreign or kind == "added"]


def _added(
    kind: str, played: Sequence[Extra], said: Sequence[Extra], nearly: Sequence[Sequence[Extra]]
) -> Iterator[Item]:
    pairs = _same(played, said)
    for i, j in pairs:
        yield Item(kind=kind, index=played[i].midi, played=kind, said=kind, sec=said[j].onset_sec)
    for side, extras, paired in (
        ("played", played, {i for i, _ in pairs}),
        ("said", said, {j for _, j in pairs}),
    ):
        for number, extra in enumerate(extras):
            if number in paired:
                continue
            there = [bool(_same([extra], hair)) for hair in nearly]
            yield Item(
                kind=kind,
                index=extra.midi,
                played=kind if side == "played" else NOTHING,
                said=kind if side == "said" else NOTHING,
                at_limit=any(is_there != (side == "played") for is_there in there),
                sec=extra.onset_sec,
            )


def _same(some: Sequence[Extra], others: Sequence[Extra]) -> list[tuple[int, int]]:
    sides = [[(extra.onset_sec, extra.midi) for extra in side] for side in (some, others)]
    return matched(sides[0], sides[1], ADDED_SEC)


@dataclass(frozen=True, slots=True, kw_only=True)
class WordScore:
    """How far one word can be trusted.

    Attributes
    ----------
    kind, word : str
    true, said : int
        Items that are it and of which something clear was said; items that were said to be it.
    precision, recall, unclear, recall_of_all : Share
        `unclear`: of the items that are it, those that were called unclear; `recall_of_all` counts them
        against the listener.
    errors, at_limit : int
        Items that are it or were said to be, but not both; those among them that lie at a limit.
    """

    kind: str
    word: str
    true: int
    said: int
    precision: Share
    recall: Share
    unclear: Share
    recall_of_all: Share
    errors: int
    at_limit: int


def word_score(found: Sequence[Compared], kind: str, word: str) -> WordScore:
    """Count one word of one kind over performances."""
    rows = [[item for item in one.items if item.kind == kind] for one in found]
    clear = [[item for item in row if item.counts] for row in rows]
    true = [sum(item.played == word for item in row) for row in clear]
    said = [sum(item.said == word for item in row) for row in clear]
    both = [sum(item.played == item.said == word for item in row) for row in clear]
    every = [sum(item.played == word for item in row) for row in rows]
    wrong = [item for row in clear for item in row if item.differs and word in (item.played, item.said)]
    return WordScore(
        kind=kind,
        word=word,
        true=sum(true),
        said=sum(said),
        precision=share(both, said),
        recall=share(both, true),
        unclear=share([all_ - some for all_, some in zip(every, true, strict=True)], every),
        recall_of_all=share(both, every),
        errors=len(wrong),
        at_limit=sum(item.at_limit for item in wrong),
    )
