"""What a practice is called in the journal: the item that its tempo belongs to."""

from __future__ import annotations

from feedback.practice_request import PracticeRequest
from routines.excerpt import Span
from routines.journal.records import Item


def item_of(request: PracticeRequest) -> Item:
    """The item that is practised.

    Parameters
    ----------
    request : PracticeRequest
    """
    whole = request.whole or request.lick
    return Item(whole.id, whole.key, unit_of(request.span, request.way))


def unit_of(span: Span | None, way: str = "") -> str:
    """What of a lick is practised, as `routines.journal.records.Item` names it.

    Parameters
    ----------
    span : Span or None
        A part of it, None for all.
    way : str
        How it is played in traffic, empty for by itself.
    """
    if span is None:
        return way
    if span.is_change:
        return f"change{span.number or ''}"
    return f"{span.first}" if span.first == span.last else f"{span.first}-{span.last}"
