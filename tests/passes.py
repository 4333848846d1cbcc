"""Passes as a journal holds them, for tests: one that can be told at a glance, and any that there can be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from typing import get_args

from hypothesis import strategies as st

from routines.errors import BadRoutine
from routines.journal.players import player_name
from routines.journal.records import Item, PassRecord, Source
from routines.outcome import (
    Extra,
    NoteVerdict,
    PassOutcome,
    Resolution,
    SeventhVerdict,
    Timing,
    Verdict,
)

AT = datetime(2026, 11, 29, 19, 30, 15, 250, timezone(timedelta(hours=1)))
"""When the pass of `a_pass` ended."""


def a_pass(number: int = 1, *, player: str = "Ann", days: int = 0) -> PassRecord:
    """A pass of two notes and a seven, with something below zero and something unknown in it."""
    notes = tuple(
        NoteVerdict(
            index=index,
            onset_sec=0.15625 * index,
            midi=67 - index,
            string=1,
            fret=5 - index,
            role="seven",
            core=True,
            verdict="landed",
            heard_midi=67 - index,
            deviation_ms=-7.25,
            rest_ms=None,
        )
        for index in range(2)
    )
    seven = SeventhVerdict(
        index=0,
        chord="A7",
        next_chord="D",
        midi=67,
        sounded=True,
        landed=True,
        swallowed=None,
        due=True,
        due_midi=66,
        resolution="resolved",
        resolved_midi=66,
        resolution_ms=-1.5,
        as_asked=True,
    )
    return PassRecord(
        id=f"sitting/1/1/{number}",
        sitting="sitting",
        player=player,
        source="sim",
        ended_at=AT + timedelta(days=days, seconds=10 * number),
        lasted_sec=8.5,
        item=Item("wet-rope", "D", "change"),
        title="Wet Rope",
        moved_ms=-0.125,
        outcome=PassOutcome(
            lick="wet-rope",
            key="D",
            tempo_half_bpm=96.0,
            start_sec=None,
            start_found=False,
            clean=True,
            notes=notes,
            extras=(Extra(onset_sec=0.5, midi=62, foreign=True),),
            sevenths=(seven,),
            thirds=(replace(seven, midi=61, resolution="none", as_asked=None),),
            timing=Timing(
                lean_ms=-2.5,
                bounce=None,
                spread_ms=9.0,
                drift_percent=None,
                hurry_at_change_ms=None,
                tempo_course=((0.0, 96.0), (1.25, 97.5)),
            ),
        ),
    )


def odd_passes() -> st.SearchStrategy[PassRecord]:
    """Any pass that there can be, its texts such as hurt in JSON, in CSV or in a spreadsheet."""
    texts = st.sampled_from(ODD_TEXTS) | st.text(max_size=8)
    named = st.sampled_from([text for text in ODD_TEXTS if text]) | st.text(min_size=1, max_size=8)
    signs = st.characters(categories=["L", "N", "P", "S"])
    players = st.sampled_from([text for text in ODD_TEXTS if _is_a_players(text)]) | st.text(
        signs, min_size=1, max_size=8
    ).filter(_is_a_players)
    numbers = st.floats(-1e9, 1e9)
    maybe = st.none() | numbers
    truths = st.none() | st.booleans()
    midi = st.integers(0, 127)
    maybe_midi = st.none() | midi
    notes = st.builds(
        NoteVerdict,
        index=st.integers(0, 999),
        onset_sec=maybe,
        midi=midi,
        string=st.integers(1, 5),
        fret=st.integers(0, 24),
        role=texts,
        core=st.booleans(),
        verdict=st.sampled_from(get_args(Verdict)),
        heard_midi=maybe_midi,
        deviation_ms=maybe,
        rest_ms=maybe,
    )
    sevenths = st.builds(
        SeventhVerdict,
        index=st.integers(0, 999),
        chord=texts,
        next_chord=texts,
        midi=midi,
        sounded=truths,
        landed=truths,
        swallowed=truths,
        due=truths,
        due_midi=maybe_midi,
        resolution=st.sampled_from(get_args(Resolution)),
        resolved_midi=maybe_midi,
        resolution_ms=maybe,
        as_asked=truths,
    )
    timings = st.builds(
        Timing,
        lean_ms=maybe,
        bounce=st.none() | st.floats(0, 1),
        spread_ms=maybe,
        drift_percent=maybe,
        hurry_at_change_ms=maybe,
        tempo_course=_some(st.tuples(numbers, numbers)),
    )
    outcomes = st.builds(
        PassOutcome,
        lick=texts,
        key=texts,
        tempo_half_bpm=st.floats(1, 300),
        start_sec=maybe,
        start_found=st.booleans(),
        clean=truths,
        notes=_some(notes),
        extras=_some(st.builds(Extra, onset_sec=numbers, midi=midi, foreign=st.booleans())),
        sevenths=_some(sevenths),
        thirds=_some(sevenths),
        timing=timings,
    )
    offsets = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
    moments = st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=offsets)
    return st.builds(
        PassRecord,
        id=named,
        sitting=named,
        player=players,
        source=st.sampled_from(get_args(Source)),
        ended_at=moments,
        lasted_sec=st.floats(0, 3600),
        item=st.builds(Item, texts, texts, texts),
        title=texts,
        routine=texts,
        heard=st.booleans(),
        moved_ms=numbers,
        click=texts,
        window=texts,
        outcome=outcomes,
    )


ODD_TEXTS = (
    "", "=1+1", "-x", "'=", "''=", "+1", "@SUM(A1)", "\tx", "\rx", "\nx", "a\r\nb", "'Tis", "a,b", 'say "x"',
    '"', "true", "null", "[1]", "1.50", "C♯ minor\u2028🪕", "\x00", "\ufeffx", " = ",
)  # fmt: skip


def told(records: Sequence[PassRecord]) -> list[tuple[PassRecord, str]]:
    """Passes so that they compare by the wall clock, too, not only by the moment."""
    return [(record, record.ended_at.isoformat()) for record in records]


def _is_a_players(name: str) -> bool:
    try:
        return player_name(name) == name
    except BadRoutine:
        return False


def _some(one: st.SearchStrategy) -> st.SearchStrategy:
    return st.lists(one, max_size=2).map(tuple)
