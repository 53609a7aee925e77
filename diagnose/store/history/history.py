"""The history of visits: what was done, what was wrong, and what a site has had before."""

import contextlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, delete, exists, or_, select

from diagnose.errors import VisitError
from diagnose.model.history import Confirmed, VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.history import rows, saving, tables
from diagnose.store.history.files import taken_no_more
from diagnose.store.history.lineage import relation
from diagnose.store.history.lines import new_file, read_lines, write_lines
from diagnose.store.history.meant import NOTHING, Meant, meant
from diagnose.store.history.migrations import migrate
from diagnose.store.history.place import WRITES, history_url, open_engine
from diagnose.store.history.trouble import explained
from diagnose.words import say

_NEWEST = (tables.visits.c.began.desc(), tables.visits.c.id)
_MOST_WORDS, _LONGEST_WORD = 20, 200
_LATEST = "~"  # after every time as it is kept
_NUMBER = 8  # characters of a visit's number that are enough to look for it


@dataclass(frozen=True, slots=True)
class Span:
    """From `since` to before `until`, ISO 8601 in UTC as the history keeps times; '' is without a bound."""

    since: str = ""
    until: str = ""


ALWAYS = Span()
_MOST_FOUND = 1_000_000  # a database counts no further than its own numbers go


class History:
    """One database of visits. Safe to share between threads; every method is one transaction.

    Every method raises VisitError when the database cannot be reached, is damaged, busy or full.
    """

    def __init__(self, url: str = "") -> None:
        """Open the database and bring its tables up to date; `url` as in `history_url`. Raises VisitError."""
        place = history_url(url)
        self._where = place.database if place.drivername == "sqlite" else place.render_as_string()
        self.engine = open_engine(place)
        with explained(str(self._where)):
            try:
                migrate(self.engine)
            except BaseException:
                self.close()
                raise

    def save(self, record: VisitRecord) -> bool:
        """Keep the visit, in place of an older version of it; False when the kept one is newer than this.

        Raises OtherVisit where its number is kept with another content.
        """
        with self.writing() as connection:
            return bool(saving.save(connection, record))

    def put(self, record: VisitRecord) -> None:
        """Keep this visit in place of whatever has its number, as a person decided."""
        with self.writing() as connection:
            saving.put(connection, record)

    def copy_of(self, visit: str, lineage: str) -> VisitRecord | None:
        """The visit with this number whose entries are these, as far as both go."""
        with self.reading() as connection:
            kin = saving.kin_of(connection, rows.storable(visit))
        same = (v for v, line in kin.items() if relation(line, lineage) not in ("branch", "conflict"))
        return self.get(v) if (v := next(same, "")) else None

    def remove(self, visit: str) -> None:
        """The visit with this id, and all that hangs on it; another file that holds it is taken in anew."""
        with self.writing() as connection:
            taken_no_more(connection, visit)
            connection.execute(delete(tables.visits).where(tables.visits.c.id == rows.storable(visit)))

    def get(self, visit: str) -> VisitRecord | None:
        """The visit with this id."""
        found = self._found(select(tables.visits).where(tables.visits.c.id == rows.storable(visit)))
        return found[0] if found else None

    def search(
        self,
        words: str = "",
        site: str = "",
        device: str = "",
        limit: int = 50,
        kb: KnowledgeBase | None = None,
        began: Span = ALWAYS,
    ) -> tuple[VisitRecord, ...]:
        """Visits that contain every one of the words, a part of the site's name and the sensor kind, newest first.

        With `kb` also the words count that it has for a visit's complaint, causes and sensors.
        """
        visit, wanted = tables.visits.c, select(tables.visits).order_by(*_NEWEST)
        wanted = wanted.limit(min(max(0, limit), _MOST_FOUND))
        for word in _words(words):
            wanted = wanted.where(_has_word(word, meant(kb, word) if kb else NOTHING))
        for bound in (visit.began >= began.since, visit.began < (began.until or _LATEST)):
            wanted = wanted.where(bound)
        if site:
            wanted = wanted.where(visit.site_key.contains(" ".join(_words(site)), autoescape=True))
        if device:
            wanted = wanted.where(_has_device(device))
        return self._found(wanted)

    def at_site(self, site: str) -> tuple[VisitRecord, ...]:
        """All visits to the site of just this name, but for case and spacing, newest first."""
        here = tables.visits.c.site_key == rows.folded(site)
        return self._found(select(tables.visits).where(here).order_by(*_NEWEST)) if site.strip() else ()

    def confirmed(self, device_family: str = "") -> tuple[Confirmed, ...]:
        """Causes that were mended and proved, per visit; only of sites with this sensor kind where one is given."""
        proved = exists().where(tables.outcomes.c.visit == tables.visits.c.id, tables.outcomes.c.proof_passed)
        wanted = select(tables.visits).where(proved).order_by(tables.visits.c.id)
        found = self._found(wanted.where(_has_device(device_family)) if device_family else wanted)
        ends = [(r, r.outcome) for r in found if r.outcome]
        return tuple(Confirmed(r.id, r.devices, end.causes) for r, end in ends if end.causes)

    def export(self, path: Path) -> int:
        """Write every visit as JSON lines into a new file; how many."""
        with self.reading() as connection:
            return write_lines(path, rows.records(connection, _EVERYTHING))

    def everything(self) -> tuple[VisitRecord, ...]:
        """Every visit, the oldest first."""
        return self._found(_EVERYTHING)

    def import_(self, path: Path) -> int:
        """Keep every visit of an exported file, or none if a line of it is damaged; how many were new or newer."""
        with self.writing() as connection:
            return sum(bool(saving.save(connection, record)) for record in read_lines(path))

    def backup(self, path: Path) -> int:
        """Copy everything into a new SQLite file, which is a history itself; how many visits."""
        with self.reading() as connection, new_file(path) as part, contextlib.closing(History(str(part))) as copy:
            return copy.save_all(rows.records(connection, _EVERYTHING))

    def save_all(self, records: Iterable[VisitRecord]) -> int:
        """Keep visits in one transaction, in place of what was kept of each unless that is newer; how many."""
        with self.writing() as connection:
            return sum(bool(saving.save(connection, record)) for record in records)

    def _found(self, wanted: Select[Any]) -> tuple[VisitRecord, ...]:
        with self.reading() as connection:
            return tuple(rows.records(connection, wanted))

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """One state of the database, however many queries; SQLite's transactions are so by themselves."""
        shared = self.engine.dialect.name == "postgresql"
        engine = self.engine.execution_options(isolation_level="REPEATABLE READ") if shared else self.engine
        with explained(str(self._where)), engine.begin() as connection:
            yield connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction, done whole or not at all."""
        with explained(str(self._where)), self.engine.execution_options(**{WRITES: True}).begin() as connection:
            yield connection

    def close(self) -> None:
        self.engine.dispose()

    def __enter__(self) -> "History":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


_EVERYTHING = select(tables.visits).order_by(tables.visits.c.began, tables.visits.c.id)


def _words(text: str) -> list[str]:
    words = rows.folded(text).split()
    if len(words) > _MOST_WORDS or any(len(word) > _LONGEST_WORD for word in words):
        raise VisitError(say("store.too_many_words", most=_MOST_WORDS, longest=_LONGEST_WORD))
    return words


def _has_word(word: str, means: Meant) -> Any:
    """In what was written, in what the knowledge says, or as the visit's number."""
    visit, cause, device, repair = (t.c for t in (tables.visits, tables.causes, tables.devices, tables.repairs))
    ways = [visit.search.contains(word, autoescape=True), visit.complaint.in_(means.complaints)]
    ways.append(exists().where(cause.visit == visit.id, cause.cause.in_(means.causes)))
    ways.append(exists().where(repair.visit == visit.id, repair.cause.in_(means.causes)))
    ways.append(exists().where(device.visit == visit.id, device.device.in_(means.devices)))
    if len(word) >= _NUMBER:
        ways.append(visit.id.startswith(word, autoescape=True))
    return or_(*ways)


def _has_device(device: str) -> Any:
    part = tables.devices.c
    return exists().where(part.visit == tables.visits.c.id, part.device == rows.storable(device))
