"""The tables of false confirmations: how many of each kind, what else was said, and each of them by name.

Conventions: intervals are of 90 % and go by performance (`tests.bench.shares`). `< over` marks a kind of
which more than `LIMIT` were confirmed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from tests.bench.confirmations import Claim, Claimed
from tests.bench.shares import Share, share
from tests.bench.two_ears import EARS
from tests.bench.unplayed import KINDS, REPLACED

LIMIT = 0.005
"""The greatest share of asked and unplayed notes that may be confirmed."""

_BLIND, _INFORMED = range(len(EARS))


def tables(name: str, found: Sequence[Claimed]) -> Iterator[str]:
    """The table of a sound, or of several together.

    Parameters
    ----------
    name : str
    found : sequence of Claimed

    Yields
    ------
    str
    """
    took_sec = sum(one.took_sec for one in found)
    licks = len({one.planned.lick for one in found})
    yield f"{name}: {len(found)} performances of {licks} licks, {took_sec:.0f} s of work"
    yield (
        f"  {'':16} {'slips':>5}  {'false':^32} {'withdrawn':>9} {'doubtful':>8} {'instead':>7}  "
        f"{'blind: false':^32} {'instead':>7}"
    )
    for label, kinds in (
        *((kind, (kind,)) for kind in KINDS),
        ("all replaced", tuple(REPLACED)),
        ("all", KINDS),
    ):
        if any(slip.kind in kinds for one in found for slip in one.slips):
            yield f"  {label:16} {_row(found, kinds)}"
    faithful = [one.faithful for one in found]
    told = (
        f"{ear} {share([one.confirmed[side] for one in found], faithful)}" for side, ear in enumerate(EARS)
    )
    yield f"  of {sum(faithful)} faithful notes confirmed: {', '.join(told)}"


def errors(found: Sequence[Claimed]) -> Iterator[str]:
    """A line for each false confirmation of either ear: how to play it again, and what rang."""
    for one in found:
        for side, ear in enumerate(EARS):
            for slip, claim, ringing in zip(one.slips, one.claims[side], one.ringing, strict=True):
                for event in claim.false:
                    what = "nothing" if slip.played is None else str(slip.played.struck_midi)
                    yield (
                        f"{ear} {one.planned.sound} {one.planned.lick} {one.planned.tempo_half_bpm:g} "
                        f"seed {one.planned.seed}, {' and '.join(one.planned.kinds)}: "
                        f"asked {event.midi} at {slip.due_sec:.3f} s ({slip.kind}), played {what}, "
                        f"said {1e3 * (event.onset_sec - slip.due_sec):+.0f} ms off, "
                        f"sure {event.confidence:.3f}, {event.level_db:.0f} dB; "
                        f"ringing {' '.join(map(str, ringing)) or 'nothing'}"
                    )


def _row(found: Sequence[Claimed], kinds: Sequence[str]) -> str:
    of = [sum(slip.kind in kinds for slip in one.slips) for one in found]

    def counted(side: int, true_of: Callable[[Claim], object]) -> list[int]:
        return [
            sum(
                bool(true_of(claim))
                for slip, claim in zip(one.slips, one.claims[side], strict=True)
                if slip.kind in kinds
            )
            for one in found
        ]

    def false(side: int) -> str:
        some = share(counted(side, lambda claim: claim.false), of)
        return f"{some.hits:3.0f} {_percent(some)}{' < over' if some.value > LIMIT else '':7}"

    def instead(side: int) -> str:
        many = sum(counted(side, lambda claim: claim.instead is not None))
        return f"{sum(counted(side, lambda claim: claim.instead)) / many:.3f}" if many else "-"

    withdrawn, doubtful = (
        sum(counted(_INFORMED, which)) for which in (lambda c: c.withdrawn, lambda c: c.doubtful)
    )
    return (
        f"{sum(of):5}  {false(_INFORMED):32} {withdrawn:9} {doubtful:8} {instead(_INFORMED):>7}  "
        f"{false(_BLIND):32} {instead(_BLIND):>7}"
    )


def _percent(some: Share) -> str:
    return f"{100 * some.value:5.2f} % [{100 * some.low:.2f} {100 * some.high:.2f}]"
