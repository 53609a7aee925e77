"""Visit files -> the history. A file that has not changed since is not read again."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from diagnose.errors import DiagnoseError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.session import salvage
from diagnose.session.visit_record import visit_record
from diagnose.store.history.files import TakenFile, taken_files, write_taken
from diagnose.store.history.history import History
from diagnose.store.history.lineage import lineage_of
from diagnose.store.history.saving import OtherVisit, save
from diagnose.store.journal import read
from diagnose.store.listed import state_of

_AT_ONCE = 200  # files in one transaction


def take_in(history: History, kb: KnowledgeBase, paths: Iterable[Path]) -> Mapping[Path, str]:
    """Save every readable visit of these files that was made with this knowledge. Raises VisitError.

    Others were taken in when they were made; read with other knowledge they might lose answers. What is wrong or
    missing in a file is told, also of one that cannot be read at all, and each time.
    """
    with history.reading() as connection:
        known = taken_files(connection)
    told, fresh = dict[Path, str](), list[tuple[Path, str]]()
    for path in sorted(paths):
        state, taken = state_of(path), known.get(str(path.absolute()))
        if not taken or (taken.state, taken.knowledge) != (state, kb.digest):
            fresh.append((path, state))
        elif taken.says:
            told[path] = taken.says
    for start in range(0, len(fresh), _AT_ONCE):
        told |= _taken(history, kb, fresh[start : start + _AT_ONCE])
    return told


def _taken(history: History, kb: KnowledgeBase, fresh: Iterable[tuple[Path, str]]) -> Mapping[Path, str]:
    found = {path: (state, *_read(kb, path)) for path, state in fresh}
    told = dict[Path, str]()
    with history.writing() as connection:
        for path, (state, record, says) in found.items():
            visit = ""
            if record:
                try:
                    visit = save(connection, record, path.stem)
                except OtherVisit as error:
                    says = " ".join(filter(None, (says, str(error))))
            write_taken(connection, TakenFile(str(path.absolute()), state, kb.digest, visit, says))
            if says:
                told[path] = says
    return told


def decide(history: History, kb: KnowledgeBase, path: Path) -> bool:
    """This file is the visit of its number from now on, as a person decided; False where nothing can be taken."""
    state = state_of(path)
    record, says = _read(kb, path)
    if record:
        history.put(record)
        with history.writing() as connection:
            write_taken(connection, TakenFile(str(path.absolute()), state, kb.digest, record.id, says))
    return bool(record)


def _read(kb: KnowledgeBase, path: Path) -> tuple[VisitRecord | None, str]:
    """The record of the file, where it can be read with this knowledge, and what is wrong with the file."""
    try:
        found = read(path)
        says = found.says(path.name)
        if not found.events:  # a start that was cut off, or nothing that can be read
            return None, says
        session, _ = salvage(kb, found.events)
    except DiagnoseError as error:
        return None, str(error)
    if session.digest != kb.digest:
        return None, says
    record = visit_record(path.stem, session, found.times, kb, found.last)
    return replace(record, lineage=lineage_of(found)), says


def names(history: History, folder: Path) -> Iterator[tuple[str, str]]:
    """(number, name of its file) of every visit that was taken in from this folder."""
    with history.reading() as connection:
        known = taken_files(connection)
    for path in folder.glob("*.visit"):
        if (taken := known.get(str(path.absolute()))) and taken.visit:
            yield taken.visit, path.stem
