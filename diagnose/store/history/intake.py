"""Visit files -> the history."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from diagnose.errors import DiagnoseError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.session import salvage
from diagnose.session.visit_record import visit_record
from diagnose.store.history.history import History
from diagnose.store.journal import read


def take_in(history: History, kb: KnowledgeBase, paths: Iterable[Path]) -> Mapping[Path, str]:
    """Save every readable visit of these files that was made with this knowledge. Raises VisitError.

    Others were taken in when they were made; read with other knowledge they might lose answers. What is wrong or
    missing in a file is told, also of one that cannot be read at all.
    """
    told: dict[Path, str] = {}
    for record in _records(kb, paths, told):
        history.save(record)
    return told


def _records(kb: KnowledgeBase, paths: Iterable[Path], told: dict[Path, str]) -> Iterator[VisitRecord]:
    for path in sorted(paths):
        try:
            found = read(path)
            if says := found.says(path.name):
                told[path] = says
            if not found.events:  # a start that was cut off, or nothing that can be read
                continue
            session, _ = salvage(kb, found.events)
        except DiagnoseError as error:
            told[path] = str(error)
            continue
        if session.digest == kb.digest:
            yield visit_record(path.stem, session, found.times, kb, found.last)
