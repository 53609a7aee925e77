"""What a practice form said -> a move."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from diagnose.errors import SessionError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.moves import (
    Beliefs,
    CheckMove,
    FinishMove,
    HintMove,
    Move,
    ProofMove,
    RepairMove,
    SuspectMove,
    TickMove,
)
from diagnose.web.forms import Form, check_named
from diagnose.words import say

SUSPECTS = 3  # rows to say what one holds likely


@dataclass(frozen=True, slots=True)
class _SentMove:
    kb: KnowledgeBase
    form: Form

    def beliefs(self) -> Beliefs:
        """Causes with probabilities. Raises SessionError at a number that is no percentage."""
        said: dict[str, float] = {}
        for row in range(1, SUSPECTS + 1):
            cause, typed = self.form.get(f"suspect_{row}", ""), self.form.get(f"percent_{row}", "").strip()
            if cause in self.kb.causes and typed:
                said[cause] = _percentage(typed)
        return tuple(said.items())

    @property
    def prepared(self) -> bool:
        return bool(self.form.get("prepared"))


def _percentage(typed: str) -> float:
    try:
        percent = float(typed.removesuffix("%").strip().replace(",", "."))
    except ValueError:
        percent = -1.0
    if not 0.0 <= percent <= 100.0:
        raise SessionError(say("practice.no_percentage"))
    return percent / 100.0


def move_of(kb: KnowledgeBase, form: Form) -> Move:
    """Raises SessionError at anything that is no move."""
    make = _MOVES.get(form.get("do", ""))
    if make is None:
        raise SessionError(say("web.no_move"))
    return make(_SentMove(kb, form))


def _look(sent: _SentMove) -> Move:
    check = check_named(sent.kb, sent.form)
    expects = sent.form.get("expects", "")
    known = check.finding is not None and expects in check.finding.states
    return CheckMove(check.id, expects if known else "", sent.beliefs(), sent.prepared)


def _repair(sent: _SentMove) -> Move:
    named = (sent.form.get("cause", ""), sent.form.get("another", ""))
    causes = causes_named(sent.kb, named)
    if not causes:
        raise SessionError(say("web.choose_cause"))
    return RepairMove(causes, sent.beliefs(), sent.prepared)


def causes_named(kb: KnowledgeBase, named: Iterable[str]) -> tuple[str, ...]:
    """The causes among what a form names, each once."""
    return tuple(dict.fromkeys(c for c in named if c in kb.causes))


_MOVES: Mapping[str, Callable[[_SentMove], Move]] = {
    "look": _look,
    "suspect": lambda sent: SuspectMove(sent.form.get("suspects", "").strip()),
    "hint": lambda _: HintMove(),
    "repair": _repair,
    "prove": lambda _: ProofMove(),
    "tick": lambda sent: TickMove(sent.form.get("item", "")),
    "finish": lambda _: FinishMove(),
}
