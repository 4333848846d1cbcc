"""What is remembered of a practice: every finished pass goes into the journal before anything else is told.

A pass is written as soon as it is over, in one transaction, so that whatever happens next it is there. Where
the journal fails (a full disk, a folder that is not ours) the playing goes on: the player is told once, the
passes are kept and written with the next one; what cannot be written by the end is written beside, as an
export that `journal import` takes, and where not even that can be, the player is told how many passes are
lost.

Threads: the practice's own, which opens the journal and writes; and once a week "journal check", which looks
the journal through and copies it meanwhile (`routines.journal.care`), and leaves its lines in a list.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator

from feedback.errors import one_line
from feedback.items import item_of
from feedback.practice_events import Begins, Event, Passed, Trouble
from feedback.practice_request import PracticeRequest
from feedback.remembered import Remembered
from feedback.session import PassOver
from feedback.words import counted
from feedback.writing import beside
from routines.journal.care import Checking, check_in_background, due_for_check
from routines.journal.journal import Journal
from routines.journal.records import PassRecord
from routines.journal.sittings import Sitting, sitting_at

PATIENCE_SEC = 0.5
"""So long a pass waits for somebody else who writes; longer it waits in line, and goes with the next one."""

CHECK_ENDS_SEC = 2.0
"""So long the weekly check has to end and to leave nothing half done."""


class Memory:
    """Behaves as `feedback.company.Companion`.

    Parameters
    ----------
    about : Remembered
    practice : str, optional
        What its passes are told from all others by: the same recording has the same, so that it is
        remembered once. Random where left out.
    """

    def __init__(self, about: Remembered, practice: str = "") -> None:
        self._about = about
        self._practice = practice or secrets.token_hex(8)
        self._journal: Journal | None = None
        self._sitting: Sitting | None = None
        self._waiting: list[PassRecord] = []
        self._news: list[str] = []  # to be told; a list takes and gives one line whole, from any thread
        self._told: set[str] = set()
        self._check: Checking | None = None

    def told(self, event: Event, request: PracticeRequest) -> Iterator[Trouble]:
        """Write a pass that is over."""
        match event:
            case Begins():
                yield from self._write()  # the journal is opened, and looked after, while nobody plays
            case Passed(turn=turn, over=over):
                yield from self.passed(turn, over, request)

    def passed(self, turn: int, over: PassOver, request: PracticeRequest) -> Iterator[Trouble]:
        """Write a pass; one that was not finished is none.

        Parameters
        ----------
        turn : int
            Its turn, from 1.
        over : PassOver
        request : PracticeRequest
            What was asked.
        """
        if over.complete:
            yield from self._write()  # tells the sitting, too
            self._waiting.append(self._record(turn, over, request))
            yield from self._write()

    def close(self) -> Iterator[Trouble]:
        """Write what is still to be written, here or beside, and leave the journal."""
        yield from self._write()
        if self._waiting:
            yield self._beside()
        if self._check is not None:
            self._check.stop()
            self._check.join(CHECK_ENDS_SEC)
        if self._journal is not None:
            self._journal.close()
            self._journal = None

    def _record(self, turn: int, over: PassOver, request: PracticeRequest) -> PassRecord:
        now, outcome = self._about.recorded_at or self._about.now(), over.judged.outcome
        if self._sitting is None:  # of a recording; or the journal could not be asked
            self._sitting = sitting_at(None, now, secrets.token_hex(2))
        return PassRecord(
            id=f"{self._practice}/{turn}/{over.part}/{over.number}",
            sitting=self._sitting.id,
            player=self._about.player,
            source=self._about.source,
            ended_at=now,
            lasted_sec=request.pass_sec(outcome.tempo_half_bpm),
            item=item_of(request),
            title=request.title or request.lick.title,
            routine=request.routine,
            heard=over.heard,
            moved_ms=over.moved_ms,
            click=request.click,
            window=self._about.window,
            outcome=outcome,
        )

    def _write(self) -> Iterator[Trouble]:
        try:
            journal = self._journal or self._opened()
            waited = len(self._waiting) > 1
            while self._waiting:
                journal.add(self._waiting[0])
                del self._waiting[0]
            if waited and self._told:
                self._told.clear()
                yield Trouble(line="")  # all is stored again
        except OSError as error:
            self._news.append(f"not remembered yet: {one_line(error)}")
        while self._news:
            line = self._news.pop(0)
            if line not in self._told:
                self._told.add(line)
                yield Trouble(line=line)

    def _opened(self) -> Journal:
        """The journal, opened; where its weekly check is due that begins."""
        folder, now = self._about.folder, self._about.now
        journal = Journal.open(folder, now=now, told=self._news.append, patience_sec=PATIENCE_SEC)
        self._journal = journal
        if self._about.recorded_at is None:
            self._sitting = self._sitting or self._sitting_in(journal)
        if self._check is None and due_for_check(folder, now()):
            self._check = check_in_background(folder, now=now(), told=self._news.append)
        return journal

    def _sitting_in(self, journal: Journal) -> Sitting:
        now = self._about.now()
        last = journal.last_pass(self._about.player, until=now)
        told = None if last is None else (last.sitting, last.ended_at)
        return sitting_at(told, now, secrets.token_hex(2))

    def _beside(self) -> Trouble:
        """What could not be written goes to a file of its own."""
        from routines.journal.exporting import write_export

        passes = counted(len(self._waiting), "pass", "passes")
        path = self._about.folder / f"passes-{self._practice}.json"
        try:
            self._about.folder.mkdir(parents=True, exist_ok=True)
            beside(path, lambda part: write_export(self._waiting, part, ".json"))
        except OSError as error:
            return Trouble(line=f"{passes} lost: {one_line(error)}", lost=len(self._waiting))
        return Trouble(line=f"{passes} kept in {path}: sevenfall journal import takes them later", lost=0)
