"""What is said of a warm-up that goes through the keys: in which of them the lick is not yet at home.

The problem: the frets are the same in every key. What fails in one key alone is a matter of that capo; what
fails in all of them was not learnt before the first one. So the keys are compared only where most passes were
clean; below that it is said what failed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from feedback.warmup_guides import looked_at, what_failed
from feedback.warmup_rows import ROWS
from feedback.warmup_time import spread_ms, wider
from feedback.warmup_told import FEWEST, Told
from feedback.words import VERDICT_WORDS, at_words, target_name
from routines.lick import Lick

_HALF = 0.5
_FEWEST_UNCLEAN = 2
"""One unclean pass in a key is a slip."""

_Keys = Mapping[str, Sequence[Told]]


def of_keys(passes: Sequence[Told]) -> str:
    """Say in which key the lick went worst, by clean passes and by spread; or what failed in all of them."""
    keys: dict[str, list[Told]] = {}
    for one in passes:
        if one.clear:
            keys.setdefault(one.step.lick.key, []).append(one)
    everything = [one for there in keys.values() for one in there]
    clean = sum(map(_is_clean, everything))
    if clean < _HALF * len(everything):
        said = f"{clean} of {len(everything)} passes were clean{_in_keys(keys)}"
        return f"{said}; {_what_failed(everything, keys)}."
    keys = {key: there for key, there in keys.items() if len(there) >= FEWEST - 1}
    if len(keys) < FEWEST - 1:
        return "Too few passes in more than one key were clear enough to compare the keys."
    return _worst_key(keys)


def _is_clean(one: Told) -> bool:
    return one.outcome.clean is True


def _clean_share(there: Sequence[Told]) -> float:
    return sum(map(_is_clean, there)) / len(there)


def _in_keys(keys: _Keys) -> str:
    return f" in {len(keys)} keys" if len(keys) > 1 else f" in {next(iter(keys))}"


def _what_failed(passes: Sequence[Told], keys: _Keys) -> str:
    """The seven, the evenness, or a note; and where to begin."""
    row = ROWS["keys"]
    if said := what_failed(row, looked_at(row, passes), passes):
        return said
    first = next(iter(keys))
    learn = f"learn it in {first} first"
    if _clean_share(keys[first]) >= _HALF:
        learn = "take the next key slower"
    return f"{_note_that_failed(passes)}{learn}"


def _note_that_failed(passes: Sequence[Told]) -> str:
    """The note that a clean pass needs which failed most, where it did in at least half of the passes."""
    failed = Counter(
        (note.index, note.verdict)
        for one in passes
        for note in one.outcome.notes
        if note.core and note.verdict not in ("landed", "unclear")
    )
    ((index, verdict), times), *_ = failed.most_common(1) or [((0, "unclear"), 0)]
    if times < _HALF * len(passes):
        return ""
    lick: Lick = passes[0].step.lick
    place = at_words(lick, lick.notes[index].onset_quarters)
    return f"{target_name(lick, index)} {place}: {VERDICT_WORDS[verdict]} in {times} of {len(passes)}; "


def _worst_key(keys: _Keys) -> str:
    worst = min(keys, key=lambda key: _clean_share(keys[key]))
    others = [one for key, there in keys.items() if key != worst for one in there]
    clean, rest = sum(map(_is_clean, keys[worst])), sum(map(_is_clean, others))
    unclean = len(keys[worst]) - clean
    if unclean >= _FEWEST_UNCLEAN and 2 * (1 - _clean_share(others)) <= 1 - _clean_share(keys[worst]):
        return (
            f"In {worst} {clean} of {len(keys[worst])} passes were clean, in the other keys {rest} of "
            f"{len(others)}: take {worst} once more before the next capo."
        )
    spreads = {key: ms for key, there in keys.items() if (ms := spread_ms(there)) is not None}
    widest = max(spreads, key=lambda key: spreads[key], default="")
    least = min(spreads.values(), default=0.0)
    said = f"{clean + rest} of {len(others) + len(keys[worst])} passes were clean in {len(keys)} keys"
    if widest and wider(spreads[widest], least):
        return (
            f"{said}, but the spread in {widest} was {spreads[widest]:.0f} ms against {least:.0f} at best: "
            f"take {widest} slower first."
        )
    return f"{said}, and no key stands out."
