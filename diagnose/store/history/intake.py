"""Visit files -> the history."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from diagnose.errors import DiagnoseError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.session import salvage
from diagnose.session.visit_record import visit_record
from diagnose.store.history.history import History
from diagnose.store.journal import read


def take_in(history: History, kb: KnowledgeBase, paths: Iterable[Path]) -> None:
    """Save every readable visit of these files that was made with this knowledge. Raises VisitError.

    Others were taken in when they were made; read with other knowledge they might lose answers. One that cannot
    be read is left alone, the list of visits says why.
    """
    for record in _records(kb, paths):
        history.save(record)


def _records(kb: KnowledgeBase, paths: Iterable[Path]) -> Iterator[VisitRecord]:
    for path in sorted(paths):
        try:
            found = read(path)
            session, _ = salvage(kb, found.events)
        except DiagnoseError:
            continue
        if session.digest == kb.digest:
            yield visit_record(path.stem, session, found.times, kb)
