"""A note between its first word and its last: heard, and not settled yet."""

from __future__ import annotations

from dataclasses import dataclass

from listener.gliding import Glide
from listener.notes import NoteEvent


@dataclass(slots=True)
class Growing:
    """A note that was heard and is not settled yet.

    Attributes
    ----------
    number : int
        As its reports have it.
    sample : int
        Of its strike.
    tuning_cents : float
        The instrument's tuning as it was known then.
    note : NoteEvent
        As it is known now.
    glide : Glide
    confirmed : bool
        Whether the last look bore it out.
    measured : bool
    """

    number: int
    sample: int
    tuning_cents: float
    note: NoteEvent
    glide: Glide
    confirmed: bool
    measured: bool = False
