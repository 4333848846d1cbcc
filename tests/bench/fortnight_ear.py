"""Some passes of a fortnight, rendered and heard by the program's own ear: does it say what is true?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from feedback.clicking import CLICKS
from feedback.expect import expectations
from feedback.following import TurnFollower
from feedback.judges.limits import Limits
from feedback.player import TAIL_SEC, render
from feedback.session import PassOver, TurnPlan
from feedback.sources import SIMULATED_RATE, listened
from routines.outcome import PassOutcome, SeventhVerdict
from tests.bench.fortnight_practice import Done, Practised


def by_ear(practices: Sequence[Practised], number: int) -> Iterator[str]:
    """Hear so many passes, drawn evenly, and tell how often ear and truth agree."""
    done = [one for practice in practices for one in practice.done if not one.truth.deaf]
    drawn = [done[round(k * (len(done) - 1) / max(1, number - 1))] for k in range(min(number, len(done)))]
    pairs = [(one.over.judged.outcome, heard(one)) for one in drawn]
    told = [
        (true.clean, ear.clean) for true, ear in pairs if ear.clean is not None and true.clean is not None
    ]
    sevens = [both for true, ear in pairs for both in zip(true.sevenths, ear.sevenths, strict=True)]
    fates = [
        (_fate(true), _fate(ear))
        for true, ear in sevens
        if ear.sounded is not None and true.sounded is not None
    ]
    unclear = len(pairs) - len(told), len(sevens) - len(fates)
    yield f"heard by the ear: {len(pairs)} passes ({unclear[0]} unclear), {len(sevens)} sevens ({unclear[1]})"
    yield f"  clean or not agrees in {_of(told)}; what became of the seven in {_of(fates)}"
    yield f"  truly clean, called not clean: {sum(a is True and b is False for a, b in told)}"
    yield f"  truly not clean, called clean: {sum(a is False and b is True for a, b in told)}"


def heard(one: Done) -> PassOutcome:
    """What is said of a pass that is heard."""
    request = one.request
    plan = TurnPlan(
        lick=request.lick,
        tempo_half_bpm=request.tempo_half_bpm,
        first_start_sec=one.played.start_sec,
        passes=1,
        rest_bars=request.rest_bars,
    )
    sound = render(one.played, rate=SIMULATED_RATE, seed=one.truth.seed)
    asked = [each for grid in plan.grids(Limits()) for each in expectations(grid)]
    source = listened(sound, SIMULATED_RATE, until_sec=plan.end_sec + TAIL_SEC, expectations=asked)
    follower = TurnFollower(
        plan, Limits(), earlier=one.earlier, click_off=CLICKS[request.click].thinned, provisional=False
    )
    for told in source:
        for over in follower.feed(told):
            if isinstance(over, PassOver):
                return over.judged.outcome
    return next(follower.end()).judged.outcome


def _fate(seven: SeventhVerdict) -> tuple[object, ...]:
    return seven.sounded, seven.landed, seven.swallowed, seven.resolution


def _of(pairs: Sequence[tuple[object, object]]) -> str:
    return f"{sum(a == b for a, b in pairs)} of {len(pairs)}"
