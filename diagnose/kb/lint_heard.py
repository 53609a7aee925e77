"""Lints over the phrases that are heard in words."""

from diagnose.kb.domain import answers_of
from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.heard import COMPLAINT, DANGER
from diagnose.model.knowledge import KnowledgeBase


def heard(kb: KnowledgeBase) -> Found:
    """Every phrase stands for an answer that the check has, or for a complaint that there is."""
    for name, hearing in kb.heard.items():
        here = ("heard", name)
        if name == COMPLAINT:
            yield from unknown((*here, "options"), hearing.options, kb.complaints, "complaint")
        elif name in kb.checks:
            yield from unknown((*here, "options"), hearing.options, answers_of(kb.checks[name]), "answer")
        elif name != DANGER:
            yield from unknown(here, [name], kb.checks, "check")
        yield from unknown((*here, "source"), [hearing.source], kb.sources, "source")


LINTS = (heard,)
