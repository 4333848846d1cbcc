"""Heard notes made ready to be matched: a pitch that moves on its way counts where it arrives, too.

A choke or a slide may reach the judges as one event with a path, or as two events. Both are turned into
sounds: the event itself, and (marked `moved`) the pitch at which its path came to rest or peaked. The two
sounds of one event know that they are one. A slide out of a sounding note may be heard at the pitch that it
brings, with the way there as its path: it arrives nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from feedback.judges.limits import Limits
from listener.notes import NoteEvent


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """One pitch that began, as the matcher sees it.

    Attributes
    ----------
    onset_sec : float
    midi : int
    level_db : float
    sure : bool
        Whether the listener is to be believed.
    event : int
        Which event it belongs to.
    blamed : bool
        Whether the listener is sure enough to hold it against the player.
    moved : bool
        Whether this is where the pitch of that event arrived; never an added note by itself.
    has_path : bool
        Whether the event's pitch was seen to move.
    reaches_midi : int or None
        Where the event's pitch arrives, if it moves to another half step.
    """

    onset_sec: float
    midi: int
    level_db: float
    sure: bool
    event: int
    blamed: bool = True
    moved: bool = False
    has_path: bool = False
    reaches_midi: int | None = None


def sounds_of(events: Iterable[NoteEvent], limits: Limits) -> list[Sound]:
    """Make sounds of note events.

    Parameters
    ----------
    events : iterable of NoteEvent
    limits : Limits

    Returns
    -------
    list of Sound
        By onset, then by pitch.
    """
    sounds = []
    for number, event in enumerate(events):
        arrival = _arrival(event, limits.choke_cents)
        struck = Sound(
            onset_sec=event.onset_sec,
            midi=event.midi,
            level_db=event.level_db,
            sure=event.confidence >= limits.sure,
            event=number,
            blamed=event.confidence >= max(limits.sure, limits.blamed),
            has_path=bool(event.path),
            reaches_midi=None if arrival is None else arrival[1],
        )
        sounds.append(struck)
        if arrival is not None:
            sounds.append(replace(struck, onset_sec=arrival[0], midi=arrival[1], moved=True))
    return sorted(sounds, key=lambda sound: (sound.onset_sec, sound.midi))


def _arrival(event: NoteEvent, within_cents: float) -> tuple[float, int] | None:
    """When and at which half step the point farthest from the path's beginning lies, if it lies on one."""
    if not event.path:
        return None
    _, begun = event.path[0]
    farthest = max((cents for _, cents in event.path), key=lambda cents: abs(cents - begun))
    half_steps = round(farthest / 100.0)
    if half_steps == 0 or abs(farthest - 100.0 * half_steps) > within_cents:
        return None
    target = 100.0 * half_steps
    sec = next(sec for sec, cents in event.path if abs(cents - target) <= within_cents)
    return sec, event.midi + half_steps
