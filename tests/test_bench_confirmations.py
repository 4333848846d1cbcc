"""False confirmations: how they are dealt out, what counts as one, and that a lying ear is found out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from feedback.errors import Usage
from listener.expecting import Expectation
from listener.files import Hearing
from listener.notes import NoteEvent
from routines.library import load
from tests.bench import confirmations
from tests.bench.confirmation_tables import LIMIT, errors, tables
from tests.bench.confirmations import Claim, Claimed, Planned, claimed, plan, unexplained
from tests.bench.performances import TEMPO_SHARES
from tests.bench.renders import Renders
from tests.bench.takes import Take
from tests.bench.unplayed import KINDS, LEFT_OUT, ONE_OF_A_PINCH, REPLACED, Slip, pinches
from tests.few import few_licks
from tests.in_turn import in_turn

NOWHERE = Renders(folder=None)
PLANNED = Planned(
    lick="tally-stick", tempo_half_bpm=80.0, sound="sim", seed=3, kinds=(LEFT_OUT, "half step off")
)
SLIP = Slip(kind=LEFT_OUT, target=0, due_sec=1.0, until_sec=1.1, asked=(60, 62), played=None)


def event(onset_sec: float, midi: int, confidence: float = 0.9) -> NoteEvent:
    return NoteEvent(
        onset_sec=onset_sec,
        midi=midi,
        cents=0.0,
        level_db=-20.0,
        confidence=confidence,
        heard_sec=onset_sec + 0.03,
        settled_sec=onset_sec + 0.1,
    )


def test_left_out_and_replaced_are_as_many_and_each_kind_has_its_share() -> None:
    many = Counter(kind for one in plan(42, sound="sim") for kind in one.kinds)
    assert many[LEFT_OUT] == 42
    assert sum(many[kind] for kind in REPLACED) == 42
    assert {many[kind] for kind in REPLACED} == {8, 9}
    assert set(many) == set(KINDS)


def test_every_lick_takes_its_turn_at_tempos_in_equal_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    licks = few_licks()[::2]
    monkeypatch.setattr("tests.bench.confirmations.all_licks", lambda: licks)
    rows = plan(60, sound="fluid")
    turns = Counter(one.lick for one in rows)
    assert set(turns) == {lick.id for lick in licks}
    # those that have a pinch may be played more, the others evenly
    plain = [turns[lick.id] for lick in licks if not pinches(lick)]
    assert max(plain) - min(plain) <= 1
    shares = sorted(one.tempo_half_bpm / load(one.lick).top_tempo_half_bpm for one in rows)
    assert TEMPO_SHARES[0] - 0.001 <= shares[0]
    assert shares[-1] <= TEMPO_SHARES[1] + 0.001
    assert max(after - before for before, after in pairwise(shares)) < 0.03
    assert {len(one.kinds) for one in rows} == {1, 2}
    assert len({one.seed for one in rows}) == len(rows)


def test_a_plan_follows_from_its_seed_and_its_sound() -> None:
    assert plan(8, sound="sim") == plan(8, sound="sim")
    assert plan(8, sound="sim") != plan(8, sound="sim", seed=1)
    assert {one.sound for one in plan(8, sound="fluid")} == {"fluid"}
    with pytest.raises(Usage, match="0 omissions: 1 and more"):
        plan(0, sound="sim")


@in_turn(
    ("heard", "played", "false"),
    [
        (event(1.0, 60), (), True),
        (event(1.0, 62), (), True),
        (event(1.0, 61), (), False),
        (event(1.09, 60), (), True),
        (event(1.11, 60), (), False),
        (event(0.89, 60), (), False),
        (event(1.0, 60), ((1.049, 60),), False),
        (event(1.0, 60), ((1.051, 60),), True),
        (event(1.0, 60), ((1.0, 62),), True),
    ],
)
def test_false_is_an_asked_pitch_near_its_time_that_nothing_played_explains(
    heard: NoteEvent, played: tuple[tuple[float, int], ...], false: bool
) -> None:
    assert unexplained(SLIP, [heard], played, 0.1) == ((heard,) if false else ())


def test_a_left_out_last_seven_may_be_heard_as_late_as_it_is_expected() -> None:
    last = replace(SLIP, until_sec=1.24)
    for sec, false in ((0.89, False), (1.2, True), (1.25, False)):
        assert bool(unexplained(last, [event(sec, 60)], (), 0.1)) is false


def test_an_honest_ear_confirms_what_was_played_and_nothing_else() -> None:
    one = claimed(PLANNED, renders=NOWHERE)
    assert [slip.kind for slip in one.slips] == list(PLANNED.kinds)
    for side, claims in enumerate(one.claims):
        assert [claim.false for claim in claims] == [(), ()]
        assert [claim.instead for claim in claims] == [None, True]
        assert one.confirmed[side] == one.faithful == len(load("tally-stick").notes) - 2
        assert all(sure.right for sure in one.sures[side])
    assert list(errors([one])) == []


def test_an_ear_that_says_what_it_expects_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    def parrot(take: Take, expectations: Sequence[Expectation]) -> Hearing:
        asked = [one for one in expectations if one.weight > 0.5]
        said = tuple(event(one.onset_sec, one.midi) for one in asked)
        return Hearing(
            sample_rate=44100,
            duration_sec=9.0,
            tuning_cents=0.0,
            notes=said,
            withdrawn=said[:0],
            doubtful=said,
        )

    monkeypatch.setattr(confirmations, "hearing", parrot)
    one = claimed(PLANNED, renders=NOWHERE)
    silent, parroting = one.claims
    assert [bool(claim.false) for claim in silent] == [False, False]
    assert [bool(claim.false) for claim in parroting] == [True, True]
    assert [bool(claim.doubtful) for claim in parroting] == [True, True]
    assert [claim.instead for claim in parroting] == [None, False]
    assert one.confirmed == (0, one.faithful)
    lines = list(errors([one]))
    assert len(lines) == 2
    assert lines[0].startswith("informed sim tally-stick 80 seed 3, left out and half step off: asked ")
    assert "played nothing" in lines[0]


def _claimed(*slips: tuple[str, bool, bool]) -> Claimed:
    """A performance by hand: each slip's kind, and whether the blind and the informed ear confirmed it."""
    told = event(1.0, 60)
    quiet = Claim(false=(), withdrawn=(), doubtful=(), instead=None)
    return Claimed(
        planned=replace(PLANNED, kinds=tuple(kind for kind, _, _ in slips)),
        slips=tuple(replace(SLIP, kind=kind) for kind, _, _ in slips),
        ringing=((55, 67),) * len(slips),
        claims=tuple(
            tuple(replace(quiet, false=(told,) if slip[side] else (), withdrawn=(told,)) for slip in slips)
            for side in (1, 2)
        ),
        faithful=10,
        confirmed=(8, 9),
        sures=((), ()),
        took_sec=2.0,
    )


def test_the_table_counts_each_kind_and_marks_what_is_over_the_limit() -> None:
    found = [_claimed((LEFT_OUT, True, False), (ONE_OF_A_PINCH, False, True))]
    found += [_claimed((LEFT_OUT, False, False))] * 2
    lines = list(tables("by hand", found))
    assert lines[0] == "by hand: 3 performances of 1 licks, 6 s of work"
    rows = {line[2:18].strip(): line[18:] for line in lines[2:-1]}
    assert set(rows) == {LEFT_OUT, ONE_OF_A_PINCH, "all replaced", "all"}
    assert rows[LEFT_OUT].split()[:4] == ["3", "0", "0.00", "%"]
    assert "33.33 %" in rows[LEFT_OUT]
    assert rows[ONE_OF_A_PINCH].split()[:4] == ["1", "1", "100.00", "%"]
    assert rows["all"].count("< over") == 2
    assert rows[LEFT_OUT].count("< over") == 1
    assert lines[-1].startswith("  of 30 faithful notes confirmed: blind 0.8000 [")
    assert 0.0 < LIMIT < 0.01


def test_nothing_over_the_limit_is_marked_at_it() -> None:
    found = [_claimed((LEFT_OUT, False, False))] * 199 + [_claimed((LEFT_OUT, False, True))]
    row = next(line for line in tables("by hand", found) if line.startswith(f"  {LEFT_OUT}"))
    assert "0.50 %" in row
    assert "< over" not in row
