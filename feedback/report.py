"""What was judged, as text for a player and as JSON for programs.

The JSON keys are a contract: names, units and the words of the verdicts do not change without a version.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from feedback.words import (
    RESOLUTION_WORDS,
    VERDICT_WORDS,
    at_words,
    chord_at,
    chord_name,
    counted,
    late_words,
    pitch_name,
    place_words,
    target_name,
    tone_name,
)
from listener.notes import NoteEvent
from routines.chords import Chord
from routines.lick import Ask, Lick
from routines.outcome import NoteVerdict, PassOutcome, SeventhVerdict, Timing
from routines.pitch import note_name
from routines.tempo import tempo_words

_BOUNCE_WORTH_SAYING = 0.02
_DRIFT_WORTH_SAYING = 0.5
_COURSE_WORTH_SAYING = 0.06  # a bar of four notes tells its tempo to some 2 %

_DIGITS = {"_sec": 5, "_ms": 2, "_db": 2, "cents": 2, "confidence": 3, "bounce": 4, "_percent": 3, "_bpm": 3}


def to_json(found: dict[str, Any]) -> str:
    """One JSON object on one line, numbers rounded by the unit in their name."""
    return json.dumps(_rounded(found), ensure_ascii=False, allow_nan=False)


def heard_json(note: NoteEvent) -> dict[str, Any]:
    """A note event as `hear` prints it."""
    return asdict(note)


def outcome_json(outcome: PassOutcome, sentence: str) -> dict[str, Any]:
    """A pass as `judge` prints it.

    Parameters
    ----------
    outcome : PassOutcome
    sentence : str

    Returns
    -------
    dict
        In the order of the contract.
    """
    found = {
        name: getattr(outcome, name)
        for name in ("lick", "key", "tempo_half_bpm", "start_sec", "start_found", "clean")
    }
    for name in ("notes", "extras", "sevenths", "thirds"):
        found[name] = [asdict(row) for row in getattr(outcome, name)]
    found["timing"] = asdict(outcome.timing)
    found["sentence"] = sentence
    return found


def heading(lick: Lick, tempo_half_bpm: float) -> str:
    """The lick's title, its sounding key and shape, and the tempo with its unit."""
    capo = f" (as {chord_name(lick, lick.key)}, capo {lick.neck.capo})" if lick.neck.capo else ""
    return f"{lick.title} | key of {lick.key}{capo} | {tempo_words(tempo_half_bpm)}"


def pass_text(lick: Lick, outcome: PassOutcome, *, lean_unsure_ms: float) -> str:
    """One pass in words: the sevens first, then the notes that went astray, then timing.

    Parameters
    ----------
    lick : Lick
    outcome : PassOutcome
    lean_unsure_ms : float
        A lean within this is not told from none.

    Returns
    -------
    str
        Several lines.
    """
    if outcome.start_sec is None:
        return "  No start was found: this lick was not heard in this take."
    lines = [f"  {_clean_words(outcome.clean)}"]
    thirds = [third for third in outcome.thirds if third.due]
    for what, verdicts, asks in (
        ("flat seven", outcome.sevenths, lick.sevenths),
        ("third", thirds, lick.thirds),
    ):
        by_note = {ask.note: ask for ask in asks}
        lines += [f"  {what} {_guide(lick, outcome, tone, by_note[tone.index])}" for tone in verdicts]
    lines.append(f"  {_tally(outcome.notes)}")
    lines += [f"    {_astray(lick, note)}" for note in outcome.notes if note.verdict != "landed"]
    for extra in outcome.extras:
        name = pitch_name(lick, extra.midi)
        kind = "foreign to the chord" if extra.foreign else "a chord tone"
        lines.append(f"    {name} added at {extra.onset_sec:.2f} s, {kind}")
    lines.append(f"  {_timing(outcome.timing, lean_unsure_ms)}")
    return "\n".join(lines)


def notes_text(notes: Iterable[NoteEvent]) -> str:
    """A table of note events, a line each."""
    rows = [
        f"  {note.onset_sec:8.3f} s  {note_name(note.midi):<4} {note.cents:+5.0f} cents  "
        f"{note.level_db:6.1f} dB  sure {note.confidence:.2f}"
        for note in notes
    ]
    return "\n".join(rows)


def _clean_words(clean: bool | None) -> str:
    return {True: "clean pass", False: "not clean", None: "counts neither way: too much was unclear"}[clean]


def _guide(lick: Lick, outcome: PassOutcome, verdict: SeventhVerdict, ask: Ask) -> str:
    here = place_words(lick, lick.notes[verdict.index].onset_quarters)
    head = f"{target_name(lick, verdict.index)} over {chord_name(lick, verdict.chord)} ({here}): "
    if verdict.sounded is None:
        return head + "unclear"
    if not verdict.sounded:
        return head + "not heard over its chord"
    word = VERDICT_WORDS[outcome.notes[verdict.index].verdict]
    said = f"{word}, but swallowed by the roll" if verdict.swallowed else word
    if not verdict.due:
        return head + said
    return head + f"{said}; {_fall(lick, outcome.tempo_half_bpm, verdict, ask)}"


def _fall(lick: Lick, tempo_half_bpm: float, verdict: SeventhVerdict, ask: Ask) -> str:
    chord = Chord.parse(verdict.next_chord)
    due = tone_name(lick, ask.due_midi or 0, chord)
    word = RESOLUTION_WORDS[verdict.resolution]
    place = ask.place_quarters or 0.0
    at = at_words(lick, place)
    if verdict.resolution == "resolved":
        return f"resolved to {due} {at} ({verdict.resolution_ms or 0.0:+.0f} ms)"
    if verdict.resolution == "hanging":
        return f"left hanging: no {due} came over {chord_name(lick, verdict.next_chord)}"
    if verdict.resolution == "unclear":
        return f"whether it went to {due} is unclear"
    ms = verdict.resolution_ms or 0.0
    if verdict.resolution == "late":
        return f"{due} {late_words(ms, tempo_half_bpm)}, asked for {at}"
    return f"{due} {word} ({abs(ms):.0f} ms {'before' if ms < 0 else 'after'} {place_words(lick, place)})"


def _tally(notes: Sequence[NoteVerdict]) -> str:
    counts = {word: sum(n.verdict == word for n in notes) for word in VERDICT_WORDS}
    said = ", ".join(f"{number} {VERDICT_WORDS[word]}" for word, number in counts.items() if number)
    return f"{counted(len(notes), 'note')}: {said}"


def _astray(lick: Lick, note: NoteVerdict) -> str:
    place = lick.notes[note.index].onset_quarters
    said = f"{place_words(lick, place)}, string {note.string} fret {note.fret}: {VERDICT_WORDS[note.verdict]}"
    if note.verdict == "wrong" and note.heard_midi is not None:
        chord = chord_at(lick, place)
        said += f" ({pitch_name(lick, note.heard_midi, chord)} for {pitch_name(lick, note.midi, chord)})"
    elif note.rest_ms is not None and note.verdict != "unclear":
        said += f" by {abs(note.rest_ms):.0f} ms"
    return said


def _timing(timing: Timing, lean_unsure_ms: float) -> str:
    said = []
    if timing.lean_ms is not None:
        side = "ahead of" if timing.lean_ms < 0 else "behind"
        near = abs(timing.lean_ms) <= lean_unsure_ms
        said.append("on the click" if near else f"{abs(timing.lean_ms):.0f} ms {side} the click")
    if timing.spread_ms is not None:
        said.append(f"spread {timing.spread_ms:.0f} ms")
    if timing.bounce is not None and abs(timing.bounce - 0.5) >= _BOUNCE_WORTH_SAYING:
        said.append(f"bounce {100 * timing.bounce:.0f}:{100 - 100 * timing.bounce:.0f}")
    if timing.drift_percent is not None:
        word = "rushing" if timing.drift_percent > 0 else "dragging"
        steady = abs(timing.drift_percent) < _DRIFT_WORTH_SAYING
        course = _course(timing)
        said.append(course if steady else f"{word} by {abs(timing.drift_percent):.1f} %")
    if timing.hurry_at_change_ms is not None:
        said.append(f"at the change {timing.hurry_at_change_ms:+.0f} ms")
    return "timing: " + (", ".join(said) or "too little was heard to tell")


def _course(timing: Timing) -> str:
    """How the tempo went that the player set, from the first bar to the last."""
    tempos = [half_bpm for _, half_bpm in timing.tempo_course]
    if not tempos or abs(tempos[-1] / tempos[0] - 1.0) < _COURSE_WORTH_SAYING:
        return "steady tempo"
    word = "speeding up" if tempos[-1] > tempos[0] else "slowing down"
    return f"{word}: {tempos[0]:.0f} to {tempos[-1]:.0f} half notes a minute"


def _rounded(value: Any, name: str = "") -> Any:
    if isinstance(value, dict):
        return {key: _rounded(inner, key) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(inner, name) for inner in value]
    if isinstance(value, float):
        digits = next((d for ending, d in _DIGITS.items() if name.endswith(ending)), 5)
        return round(value, digits) + 0.0  # never -0.0
    return value
