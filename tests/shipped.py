"""The shipped knowledge, loaded once for all tests that read the real thing."""

from functools import cache, partial

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session.events import Begin
from diagnose.session.session import step
from diagnose.session.state import Session
from tests.remembering import Remembering


@cache
def knowledge() -> KnowledgeBase:
    return load_knowledge(shipped_folder("knowledge"))


@cache
def reasoner() -> Reasoner:
    """With the engine of record."""
    return Remembering(knowledge())


@cache
def quick() -> Reasoner:
    """The same conclusions by the plain fixpoint, which is faster."""
    return Remembering(knowledge(), partial(fixpoint, knowledge()))


def begun(complaint: str = "ghost_opening", setup: Setup | None = None) -> Session:
    """A visit that has just begun."""
    return step(knowledge(), None, Begin(setup or Setup(), complaint))


def dependent_check() -> tuple[str, str, str, str]:
    """(a check that hangs on the answer to another, that other, an answer that opens it, one that shuts it)."""
    kb = knowledge()
    for name, dependent in kb.checks.items():
        if len(dependent.only_if) == 1 and dependent.kind == "choice" and not dependent.locked:
            ((fact, accepted),) = dependent.only_if.items()
            other = kb.checks.get(fact)
            if other and other.kind == "choice" and not other.only_if:
                shut = next((o for o in other.options if o not in accepted), None)
                if shut:
                    return name, fact, accepted[0], shut
    raise AssertionError("no check of the knowledge hangs on another one")
