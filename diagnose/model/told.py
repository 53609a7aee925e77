"""The cautions that come before a piece of work: of what it opens first, then its own, each once."""

from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.named import Words


def cautions_for(kb: KnowledgeBase, check: Check) -> Words:
    """Cautions of the check and of the access group it opens."""
    return _each_once(kb, check.access, check.cautions)


def remedy_cautions(kb: KnowledgeBase, cause: Cause) -> Words:
    """Cautions of a remedy, with those of what it opens and of the cause."""
    return _each_once(kb, cause.remedy.access, (*cause.cautions, *cause.remedy.cautions))


def _each_once(kb: KnowledgeBase, access: str, own: Words) -> Words:
    group = kb.access.get(access)
    return tuple(dict.fromkeys((*(group.cautions if group else ()), *own)))
