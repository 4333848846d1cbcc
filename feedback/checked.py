"""A sound check told: in words, and for programs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from feedback.soundcheck import STRINGS, Checked
from feedback.words import counted
from listener.acquaint import Acquaintance

_WELL_ENOUGH = 0.97
_SOFT_PEAK_DB, _NEAR_NOISE_DB = -30.0, 25.0
_OFF_CENTS = 6.0


def told(checked: Checked, name: str | None, stored: str | None) -> list[str]:
    """A sound check in words.

    Parameters
    ----------
    checked : Checked
    name : str or None
        The instrument, where its profile was asked for.
    stored : str or None
        Where the profile lies.

    Returns
    -------
    list of str
        Lines.
    """
    found = checked.acquaintance.found
    there = sum(one is not None for one in found)
    lines = [
        f"{checked.file}: {checked.duration_sec:.1f} s, {there} of {len(found)} notes found in order",
        *_sound_told(checked),
    ]
    known = checked.acquaintance
    profile, off_cents = known.profile, known.tuning_cents
    if profile is None and off_cents is not None:
        lines.append(
            f"  tuning      {off_cents:+.0f} cents against A = 440 Hz: these are other half steps; tune the "
            "banjo first, or say how it is tuned: --tuning, --capo; nothing stored"
        )
        return lines
    if profile is None:
        what = "no note heard"
        if known.others:
            what = f"{counted(known.others, 'other note')} heard"
        elif there:
            what = f"only {there} of {counted(len(found), 'note')} found"
        lines.append(
            f"  nothing     {what}: this is not the list that sevenfall soundcheck asks for; nothing stored"
        )
        return lines
    lacking = [f"{p.string}/{p.fret}" for p, one in zip(checked.places, found, strict=True) if one is None]
    if lacking:
        lines.append(f"  not found   {', '.join(lacking)} (string/fret)")
    lines += _tuning_told(checked)
    lines.append(f"  hearing     {_hearing_told(known)}")
    if stored is not None:
        what = "its tuning, and what was learnt of its sound" if profile.arrays else "its tuning"
        lines.append(f"  stored      {what}, as {name}: {stored}")
    else:
        lines.append(f"  stored      nothing{'' if name else '; --instrument NAME stores it'}")
    return lines


def as_json(checked: Checked, name: str | None, stored: str | None) -> dict[str, Any]:
    """The same for programs."""
    known, profile, tried = (
        checked.acquaintance,
        checked.acquaintance.profile,
        checked.acquaintance.tried,
    )
    return {
        "file": checked.file,
        "sample_rate": checked.rate,
        "duration_sec": checked.duration_sec,
        "peak_db": checked.conditions.peak_db,
        "noise_db": checked.conditions.noise_db,
        "clipped_samples": checked.conditions.clipped,
        "note_level_db": checked.level_db,
        "asked": [
            {
                "string": place.string,
                "fret": place.fret,
                "midi": midi,
                "onset_sec": one.onset_sec if one else None,
                "cents": one.cents if one else None,
                "level_db": one.level_db if one else None,
            }
            for place, midi, one in zip(checked.places, checked.midi, known.found, strict=True)
        ],
        "others": known.others,
        "tuning_cents": known.tuning_cents,
        "strings": [
            {"string": string, "off_cents": cents}
            for string, cents in sorted((profile.string_cents if profile else {}).items())
        ],
        "rolls": {"notes": tried.notes, "f_before": tried.before, "f_after": tried.after} if tried else None,
        "learnt": bool(profile and profile.arrays),
        "instrument": name,
        "stored": stored,
    }


def _sound_told(checked: Checked) -> list[str]:
    state, level_db = checked.conditions, checked.level_db
    words = [f"peaks at {state.peak_db:.0f} dB of full scale"]
    if state.clipped:
        words.append(f"clipped ({counted(state.clipped, 'sample')}): turn the input down")
    elif state.peak_db < _SOFT_PEAK_DB:
        words.append("soft: turn the input up, or go nearer")
    if level_db is not None:
        over_db = level_db - state.noise_db
        words.append(f"notes {over_db:.0f} dB over the noise ({state.noise_db:.0f} dB)")
        if over_db < _NEAR_NOISE_DB:
            words.append("noisy: go nearer to the microphone")
    else:
        words.append(f"noise at {state.noise_db:.0f} dB")
    return [f"  sound       {'; '.join(words)}"]


def _tuning_told(checked: Checked) -> list[str]:
    known, profile = checked.acquaintance, checked.acquaintance.profile
    if profile is None:
        return []
    every = [one.cents for one in known.found if one is not None]
    strings = []
    for string in STRINGS:
        if string in profile.string_cents:
            off = profile.string_cents[string]
            word = "" if abs(off) < _OFF_CENTS else " (sharp)" if off > 0 else " (flat)"
            strings.append(f"{string} {off:+.0f}{word}")
    return [
        f"  tuning      {profile.tuning_cents:+.0f} cents against A = 440 Hz, "
        f"give or take {_sure_within(every):.0f}, by {counted(len(every), 'note')}",
        f"  strings     in cents against the whole: {', '.join(strings)}",
    ]


def _sure_within(cents: Sequence[float]) -> float:
    """How far off their median may be: twice its standard error, at least a cent."""
    spread = 1.48 * float(np.median(np.abs(np.array(cents) - np.median(cents))))
    return max(1.0, 2.5 * spread / math.sqrt(len(cents)))


def _hearing_told(known: Acquaintance) -> str:
    tried = known.tried
    if tried is None:
        return "too few whole notes to learn from; the listener stays as it is"
    before, after = round(100.0 * tried.before), round(100.0 * tried.after)
    right = f"{before} of 100 notes right in rolls put together from half of yours"
    if known.profile is not None and known.profile.arrays:
        return f"{right}; {after} after learning from the other half"
    if tried.before >= _WELL_ENOUGH:
        return f"{right}: there is next to nothing to learn"
    return f"{right}; {after} after learning from the other half: too little, so it is not kept"
