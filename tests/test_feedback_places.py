"""Rough places at which a lick may begin: votes, and which of them are kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feedback.heard import sounds_of
from feedback.judges.limits import Limits
from feedback.places import FEWEST, Votes, places, votes_of
from listener.notes import NoteEvent
from routines.lick import Lick
from tests.scores import A, lick, play


def _votes(of: Lick, events: list[NoteEvent]) -> Votes:
    return votes_of(of, sounds_of(events, Limits()))


def test_a_sound_votes_for_every_target_of_its_pitch() -> None:
    of = lick("3/0 2/0 3/0 1/0", "G")
    votes = _votes(of, play(of)[:2])
    pairs = sorted(zip(votes.sec.tolist(), votes.target.tolist(), votes.quarters.tolist(), strict=True))
    assert pairs == [(1.0, 0, 0.0), (1.0, 2, 1.0), (pytest.approx(1.1), 1, 0.5)]
    assert votes.struck_sec == pytest.approx([1.0, 1.1])


def test_a_choke_is_answered_where_it_is_struck_and_a_slide_in_the_roll_where_it_arrives() -> None:
    of = lick("2/3c5 1/0 3/2 s3/4 . . . .", "G")
    votes = _votes(of, play(of))
    by_target = dict(zip(votes.target.tolist(), votes.sec.tolist(), strict=True))
    assert by_target == {0: 1.0, 1: pytest.approx(1.1), 2: pytest.approx(1.2), 3: pytest.approx(1.3)}


def test_the_place_of_a_pass_has_a_vote_of_every_target() -> None:
    found = places(A, _votes(A, play(A, start_sec=2.0)), [140.0, 150.0, 160.0])
    best = max(found, key=lambda rough: rough.votes)
    assert (best.votes, best.tempo_half_bpm) == (len(A.notes), 150.0)
    assert best.start_sec == pytest.approx(2.0, abs=0.05)


def test_a_target_votes_once_in_a_place() -> None:
    events = play(A, start_sec=2.0)
    twice = sorted(
        [*events, *(replace(e, onset_sec=e.onset_sec + 0.01) for e in events)], key=lambda e: e.onset_sec
    )
    once = max(rough.votes for rough in places(A, _votes(A, events), [150.0]))
    again = [rough.votes for rough in places(A, _votes(A, twice), [150.0])]
    assert max(again, default=0) <= once


def test_of_near_doubles_one_is_kept_and_of_two_passes_both() -> None:
    votes = _votes(A, [*play(A, start_sec=2.0), *play(A, start_sec=6.0)])
    starts = [rough.start_sec for rough in places(A, votes, list(np.geomspace(145.0, 155.0, 8)))]
    assert starts == sorted(starts)
    for meant in (2.0, 6.0):
        assert sum(abs(start - meant) < 0.1 for start in starts) == 1


def test_too_few_notes_or_too_many_others_are_no_place() -> None:
    events = play(A, start_sec=2.0)
    assert places(A, _votes(A, []), [150.0]) == []
    assert places(A, _votes(A, events[: FEWEST - 1]), [150.0]) == []
    others = [
        replace(events[0], midi=80, onset_sec=2.0 + float(sec)) for sec in np.arange(0.0, 1.4, 1.4 / 50)
    ]
    crowded = sorted([*events, *others], key=lambda event: event.onset_sec)
    assert places(A, _votes(A, crowded), [150.0]) == []
