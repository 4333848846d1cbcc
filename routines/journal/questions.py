"""Questions to an open journal: its passes, and sums of them over days, months and all time.

Conventions: days are given as "2026-11-29" and stand for all of it; a period goes from one day to another,
both with them. Whoever goes through many passes does not stop another who stores one.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from routines.journal import asking, marks, sums
from routines.journal.connecting import DAMAGE
from routines.journal.errors import JournalTrouble, UnreadPass, code_of, troubles
from routines.journal.marks import PassMark
from routines.journal.periods import Asked, Period, asked_for
from routines.journal.records import GuideDay, Item, LevelsDay, PassRecord, TempoDay
from routines.journal.sums import DaySum, ItemSum
from routines.journal.visits import mark

T = TypeVar("T")


class Questions:
    """What can be asked of a journal. It may be used from several threads.

    Every method raises JournalTrouble where the file cannot be read.

    Parameters
    ----------
    file : Path
    connection : sqlite3.Connection
    again : callable, optional
        Mends the journal and gives another connection: asked once where a question finds damage.
    """

    def __init__(
        self, file: Path, connection: sqlite3.Connection, again: Callable[[], sqlite3.Connection] | None
    ) -> None:
        self.file = file
        self._connection, self._again = connection, again
        self._lock = threading.RLock()

    def passes(
        self,
        *,
        player: str | None = None,
        since: str | None = None,
        until: str | None = None,
        item: Item | None = None,
        newest_first: bool = False,
        limit: int | None = None,
        unread: Callable[[UnreadPass], None] | None = None,
    ) -> Iterator[PassRecord]:
        """Go through the passes, by day and by the moment at which they ended.

        Those that are stored meanwhile are not among them. Others may write meanwhile.

        Parameters
        ----------
        player, since, until, item : optional
            Which ones; without them, all.
        newest_first : bool
        limit : int, optional
            So many at most.
        unread : callable, optional
            Is told of each pass that cannot be read, which is left out; without it that is a JournalTrouble.

        Yields
        ------
        PassRecord
        """

        def first(connection: sqlite3.Connection) -> tuple[list[int], list[PassRecord]]:
            asked = self._asked(player, item, since, until)
            numbers = asking.numbers_of_passes(connection, asked, newest_first=newest_first, limit=limit)
            return numbers, list(asking.passes_of(connection, numbers[: asking.AT_ONCE], unread))

        numbers, found = self._answer(first)
        yield from found
        for begin in range(asking.AT_ONCE, len(numbers), asking.AT_ONCE):
            with self._reading() as connection:
                found = list(asking.passes_of(connection, numbers[begin : begin + asking.AT_ONCE], unread))
            yield from found

    def last_pass(self, player: str, until: datetime | None = None) -> PassMark | None:
        """The pass that ended last, none that ended later than `until`, which has an offset."""
        return self._answer(lambda c: marks.last_pass(c, self._asked(player), until))

    def marks(
        self, player: str, *, since: str, until: str | None = None, item: Item | None = None
    ) -> list[PassMark]:
        """The passes of these days without their verdicts, by day and by the moment at which they ended."""
        return self._answer(lambda c: marks.marks(c, self._asked(player, item, since, until)))

    def tempo_days(
        self,
        player: str,
        *,
        item: Item | None = None,
        lick_begins: str = "",
        since: str | None = None,
        until: str | None = None,
    ) -> list[TempoDay]:
        """Totals of each day, item and tempo, by item, day and tempo.

        Parameters
        ----------
        player : str
        item : Item, optional
            Only this one.
        lick_begins : str
            Only licks whose id begins so.
        since, until : str, optional

        Returns
        -------
        list of TempoDay
        """
        return self._answer(
            lambda c: asking.tempo_days(c, self._asked(player, item, since, until), lick_begins)
        )

    def guide_days(
        self, player: str, *, item: Item | None = None, since: str | None = None, until: str | None = None
    ) -> list[GuideDay]:
        """Totals of each day and guide tone, by item, day, chord, next chord and voice."""
        return self._answer(lambda c: asking.guide_days(c, self._asked(player, item, since, until)))

    def levels_days(
        self,
        player: str,
        *,
        item: Item | None = None,
        since: str | None = None,
        until: str | None = None,
        most: int | None = None,
    ) -> list[LevelsDay]:
        """Levels at the end of each day, by item and day; `most` of each item, evenly, with the last one."""
        return self._answer(lambda c: asking.levels_days(c, self._asked(player, item, since, until), most))

    def last_levels(self, player: str, days: int, *, since: str, until: str) -> list[LevelsDay]:
        """Levels of each item on the last days on which it was practised, so many days back at most."""
        return self._answer(lambda c: asking.last_levels(c, self._asked(player, None, since, until), days))

    def item_sums(
        self, player: str, *, item: Item | None = None, since: str | None = None, until: str | None = None
    ) -> list[ItemSum]:
        """Sums of each item over the whole period, by item: at once, however long it is."""
        return self._answer(lambda c: sums.item_sums(c, self._asked(player, item, since, until)))

    def guide_sums(
        self, player: str, *, item: Item | None = None, since: str | None = None, until: str | None = None
    ) -> list[GuideDay]:
        """Sums of each guide tone of each item over the whole period; the day is the last one in it."""
        return self._answer(lambda c: sums.guide_sums(c, self._asked(player, item, since, until)))

    def day_sums(self, player: str, *, since: str | None = None, until: str | None = None) -> list[DaySum]:
        """Passes and seconds of each item on each day, in no order."""
        return self._answer(lambda c: sums.day_sums(c, self._asked(player, None, since, until)))

    def titles(self, player: str) -> dict[str, str]:
        """The title of each lick as stored last, by its id."""
        return self._answer(lambda c: asking.titles(c, self._asked(player)))

    def players(self) -> list[str]:
        """Names of all who have a pass here, in order."""
        return self._answer(lambda c: asking.players(c))

    def days(self, player: str) -> list[str]:
        """Days on which anything of this player was heard, in order."""
        return self._answer(lambda c: asking.days(c, self._asked(player)))

    def count(self, player: str | None = None) -> int:
        """How many passes there are, those with them in which nothing was heard."""
        return self._answer(lambda c: asking.count(c, self._asked(player)))

    def _asked(self, player: str | None, item: Item | None = None, *days: str | None) -> Asked:
        return asked_for(self._connection, player, item, Period(*days))

    def _answer(self, question: Callable[[sqlite3.Connection], T]) -> T:
        with self._lock:
            try:
                with self._reading() as connection:
                    return question(connection)
            except JournalTrouble as trouble:
                if self._again is None or code_of(trouble.__cause__) not in DAMAGE:
                    raise
            self._mended(self._again)
            with self._reading() as connection:
                return question(connection)

    def _mended(self, again: Callable[[], sqlite3.Connection]) -> None:
        self._connection.close()
        with troubles(self.file):
            self._connection = again()

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            try:
                with troubles(self.file):
                    yield self._connection
            except JournalTrouble as trouble:
                if code_of(trouble.__cause__) in DAMAGE:
                    with suppress(OSError):  # where nothing can be written nothing can be mended
                        mark(self.file.parent)
                raise
