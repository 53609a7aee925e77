"""What a typed word means among the ids that the history keeps: the words that the knowledge has for them."""

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.history.rows import folded


@dataclass(frozen=True, slots=True)
class Meant:
    """Ids of complaints, causes and sensor families in whose words the typed word stands."""

    complaints: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    devices: tuple[str, ...] = ()


NOTHING = Meant()


def meant(kb: KnowledgeBase, word: str) -> Meant:
    """A piece of a word is enough, as in what was written."""
    return Meant(
        _saying(word, ((c, complaint.says) for c, complaint in kb.complaints.items())),
        _saying(word, ((c, cause.says) for c, cause in kb.causes.items())),
        _saying(word, kb.devices.items()),
    )


def _saying(word: str, said: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    return tuple(id for id, says in said if word in folded(says))
