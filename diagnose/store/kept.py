"""Kept visit files -> what the history keeps of them."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from diagnose.errors import DiagnoseError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.kept import visit_record
from diagnose.session.session import salvage
from diagnose.store.journal import read


def kept_records(kb: KnowledgeBase, paths: Iterable[Path]) -> Iterator[VisitRecord]:
    """Every readable visit of these files that was made with this knowledge.

    Others were taken in when they were made; read with other knowledge they might lose answers. One that cannot
    be read is left alone, the list of visits says why.
    """
    for path in sorted(paths):
        try:
            found = read(path)
            session, _ = salvage(kb, found.events)
        except DiagnoseError:
            continue
        if session.digest == kb.digest:
            yield visit_record(path.stem, session, found.times)
