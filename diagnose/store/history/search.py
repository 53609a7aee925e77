"""Search in the history behind the pages: visits that are new or changed are taken in first."""

import threading
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase

if TYPE_CHECKING:
    from diagnose.store.history.history import History


class FolderSearch:
    """Earlier visits of a folder. The database is opened by the first search. Safe to share between threads."""

    def __init__(self, kb: KnowledgeBase, folder: Path, database: str) -> None:
        self._kb, self._folder, self._database = kb, folder, database
        self._taken: dict[Path, int] = {}
        self._told: dict[Path, str] = {}
        self._lock = threading.Lock()
        self._history: History | None = None

    def __call__(self, words: str, place: str, kind: str, most: int) -> tuple[VisitRecord, ...]:
        """The newest visits that fit. Raises VisitError."""
        return self._opened().search(words, place, kind, most, self._kb)

    def _opened(self) -> "History":
        from diagnose.store.history.history import History  # the pages start without a database
        from diagnose.store.history.intake import take_in

        with self._lock:
            if self._history is None:
                self._history = History(self._database)
            changed = dict(self._changed())
            told = take_in(self._history, self._kb, changed)
            self._taken |= changed
            self._told = {p: says for p, says in self._told.items() if p not in changed and p.exists()} | dict(told)
            return self._history

    def trouble(self) -> tuple[str, ...]:
        """What is wrong or missing in the files that the last search took in, or could not."""
        return tuple(self._told[path] for path in sorted(self._told))

    def _changed(self) -> Iterator[tuple[Path, int]]:
        for path in self._folder.glob("*.visit"):
            with suppress(OSError):  # gone meanwhile, or a link to nothing
                if self._taken.get(path) != (changed := path.stat().st_mtime_ns):
                    yield path, changed
