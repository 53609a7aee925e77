"""Visits as a page needs them: read anew for every page, and changed by one event at a time, on disk first."""

import threading
import time
from collections import defaultdict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event, Reply, TakeOver
from diagnose.session.law import due
from diagnose.session.session import conclude, require_devices, salvage, step
from diagnose.session.state import Session
from diagnose.store.journal import Journal, read
from diagnose.store.locking import VisitBusy
from diagnose.store.photos import folder_of
from diagnose.store.recover import Recovered
from diagnose.web.keeper import LoggedIn
from diagnose.web.signing import signed
from diagnose.words import say

BUSY_TRIES, BUSY_PAUSE_S = 15, 0.1


@dataclass(frozen=True, slots=True)
class Opened:
    """A visit as its file has it now. `told`: what salvage left out of it or only kept."""

    name: str
    found: Recovered
    session: Session
    told: tuple[str, ...]
    reasoner: Reasoner  # for the gate of the visit
    lacking: frozenset[str]  # pictures that are not beside the file

    @property
    def number(self) -> int:
        """How many events there are; every form carries it, so that a stale one is known."""
        return len(self.found.events)

    @property
    def looked_at(self) -> frozenset[str]:
        """Checks that whoever has the visit now answered or confirmed: without what came with a hand-over."""
        mine: set[str] = {a.check for a in self.session.given}
        for event in self.found.events:
            if isinstance(event, TakeOver):
                mine = set()
            elif isinstance(event, Reply):
                mine.add(event.check)
        return frozenset(mine)


class NoVisit(VisitError):
    """There is no visit of this name."""


class Stale(Exception):
    """The visit went on elsewhere since the form was drawn; nothing was changed."""

    def __init__(self, opened: Opened, since: int, event: Event) -> None:
        super().__init__()
        self.opened, self.since, self.event = opened, since, event


class Visits:
    """The folder of visits behind the pages. Safe to share between threads."""

    def __init__(self, reasoner: Reasoner, folder: Path) -> None:
        self.reasoner, self.folder = reasoner, folder
        self._locks: defaultdict[str, threading.Lock] = defaultdict(threading.Lock)
        self._guard = threading.Lock()

    def path(self, name: str) -> Path:
        """The file of a visit, found in the listing by its whole name and never made from it. Raises NoVisit."""
        path = next((p for p in self.folder.glob("*.visit") if p.stem == name), None)
        if path is None:
            raise NoVisit(say("web.no_visit"))
        return path

    def open(self, name: str) -> Opened:
        """Raises NoVisit, VisitError, SessionError when the visit cannot be shown."""
        path = self.path(name)
        return self._opened(path.stem, read(path))

    def conclude(self, opened: Opened) -> Conclusion:
        return conclude(self.reasoner, opened.session)

    def begin(self, event: Begin) -> str:
        """A new visit; its name. Raises SessionError, VisitError."""
        step(self.reasoner.kb, None, event)
        with Journal.create(self.folder, datetime.now()) as journal:
            journal.append(event)
            return journal.path.stem

    def send(
        self, name: str, number: int, event: Event, who: LoggedIn, first: Callable[[], object] = lambda: None
    ) -> Opened:
        """Put the event on disk, if the visit is still as it was when the form was drawn.

        The same event in the same place is the same form sent twice: it counts once. Raises Stale, SessionError,
        VisitError; then nothing has changed. `who` does it; `first` is done when the
        event may follow, before it is on disk.
        """
        path = self.path(name)
        with self._lock(path.stem):
            self.open(name)  # what cannot be read at all must not be written anew
            journal, found = _reopened(path)
            with journal:
                opened = self._opened(path.stem, found)
                event = signed(event, who, opened.session)
                if opened.number != number:
                    if found.events[number : number + 1] == (event,):
                        return opened
                    raise Stale(opened, number, event)
                self._append(journal, opened.session, event, first)
        return self.open(name)

    def take_over(self, found: Recovered, setup: Setup, by: str) -> str:
        """A copy of a visit that was handed over, gone on with in another role; its name."""
        before = self._opened("", found).session
        mine = replace(before.setup, role=setup.role, electrician=setup.electrician, tools=setup.tools)
        event = TakeOver(mine, by)
        step(self.reasoner.kb, before, event)
        with Journal.copied(self.folder, datetime.now(), found, event) as journal:
            return journal.path.stem

    def _append(self, journal: Journal, session: Session, event: Event, first: Callable[[], object]) -> None:
        """The event, and what follows by itself after it."""
        following = step(self.reasoner.kb, session, event)
        first()
        journal.append(event)
        for after in due(following, conclude(self.reasoner, following)):
            journal.append(after)

    def _opened(self, name: str, found: Recovered) -> Opened:
        if not found.events:
            raise VisitError(found.says(f"{name}.visit") or say("web.nothing_readable"))
        session, told = salvage(self.reasoner.kb, found.events)
        require_devices(self.reasoner.kb, session.setup.devices)
        folder = folder_of(self.folder / f"{name}.visit")
        lacking = frozenset(p.name for p in session.photos if not (folder / p.name).is_file())
        return Opened(name, found, session, told, self.reasoner.at(session.setup.gear), lacking)

    def _lock(self, name: str) -> threading.Lock:
        with self._guard:
            return self._locks[name]


def _reopened(path: Path) -> tuple[Journal, Recovered]:
    """A second server writes only for a moment, a terminal keeps the visit open. Raises VisitError."""
    for _ in range(BUSY_TRIES):
        with suppress(VisitBusy):
            return Journal.reopen(path)
        time.sleep(BUSY_PAUSE_S)
    return Journal.reopen(path)
