"""What was typed for a file that is not written yet, line by line, so that a window that is closed loses nothing."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from diagnose.errors import VisitError
from diagnose.store.journal import SealedFile
from diagnose.store.locking import VisitBusy
from diagnose.store.sealed import LineKind
from diagnose.words import say


def _read(plain: Any) -> str:
    if not isinstance(plain, dict) or not isinstance(typed := plain.get("typed"), str):
        raise VisitError(say("store.no_line"))
    return typed


class _DraftFile(SealedFile[str]):
    kind = LineKind(_read, lambda typed: {"typed": typed}, str)
    suffix = ".draft"

    def _other_name(self) -> Path:
        raise VisitBusy(say("store.open_elsewhere", name=self.path.name))


class Draft:
    """The lines typed for one file, beside it; there from the first line on, for one window at a time."""

    def __init__(self, target: Path) -> None:
        """Takes up what was typed before. Raises VisitError."""
        self.path = target.with_name(f".{target.name}{_DraftFile.suffix}")
        self.before: Sequence[str] = ()
        self.says = ""
        self._file: _DraftFile | None = None
        if self.path.exists():
            self._file, found = _DraftFile.reopen(self.path)
            self.before, self.says = found.events, found.says(self.path.name)

    def add(self, typed: str) -> None:
        """On disk before it returns. Raises VisitError."""
        if self._file:
            self._file.append(typed)
        else:
            self._file = _DraftFile.begun_at(self.path, typed)

    def close(self) -> None:
        if self._file:
            self._file.close()

    def done(self) -> None:
        """It is not needed any more."""
        self.close()
        self.path.unlink(missing_ok=True)
