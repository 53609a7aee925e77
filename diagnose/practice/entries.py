"""What the lines of an exercise's file say: how it was drawn, then every move, at last that it counts.

The file is kept as a visit is: sealed lines, on disk one by one, one writer at a time.
"""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from diagnose.errors import DiagnoseError, VisitError
from diagnose.practice import moves
from diagnose.practice.moves import Move
from diagnose.store.journal import SealedFile
from diagnose.store.limits import require_few
from diagnose.store.recover import RecoveredFile
from diagnose.store.sealed import LineKind
from diagnose.words import say

SUFFIX = ".exercise"


@dataclass(frozen=True, slots=True)
class Drawn:
    """`recipe`: the gate as it was; the rest is how the trainee works on it. `story` is told afterwards."""

    recipe: Mapping[str, Any]
    trainee: str
    lesson: str
    hints: int = 3
    aided: bool = True
    words: str = ""
    story: str = ""


@dataclass(frozen=True, slots=True)
class Counted:
    """The exercise has ended and is in the trainee's progress."""


Entry = Drawn | Move | Counted


def _plain(entry: Entry) -> dict[str, Any]:
    if isinstance(entry, Drawn):
        return {"drawn": asdict(entry)}
    return {"counted": True} if isinstance(entry, Counted) else moves.to_plain(entry)


def _read(plain: Any) -> Entry:
    """Raises what `sealed.UNREADABLE` names."""
    if not isinstance(plain, dict):
        raise VisitError(say("store.no_line"))
    if "drawn" in plain:
        return _drawn(plain["drawn"])
    if "counted" in plain:
        return Counted()
    try:
        return moves.from_plain(plain)
    except DiagnoseError as error:
        raise VisitError(str(error)) from error


def _drawn(plain: Any) -> Drawn:
    drawn = Drawn(**plain)
    texts = (drawn.trainee, drawn.lesson, drawn.words, drawn.story)
    kinds = isinstance(drawn.recipe, dict) and isinstance(drawn.aided, bool) and type(drawn.hints) is int
    if not kinds or not all(isinstance(text, str) for text in texts):
        raise VisitError(say("store.no_line"))
    return drawn


class ExerciseFile(SealedFile[Entry]):
    """One exercise, of a terminal or of the pages."""

    kind = LineKind(_read, _plain, Drawn)
    suffix = SUFFIX

    @classmethod
    def found_in(cls, data: bytes) -> RecoveredFile[Entry]:
        found = super().found_in(data)
        require_few(found.last)
        return found

    def require_room_for(self, events: Iterable[Entry], last: int) -> None:
        del events
        require_few(last)
