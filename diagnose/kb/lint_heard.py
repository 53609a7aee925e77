"""Lints over the phrases that are heard in words."""

from diagnose.kb.domain import answers_of
from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.heard import COMPLAINT, DANGER
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say


def heard(kb: KnowledgeBase) -> Found:
    """Every phrase stands for an answer that the check has, or for a complaint that there is.

    What is heard is named as in the knowledge of no gate in particular.
    """
    checks = (kb.base or kb).checks
    for name, hearing in kb.heard.items():
        here = ("heard", name)
        if name == COMPLAINT:
            yield from unknown((*here, "options"), hearing.options, kb.complaints, "complaint")
        elif name in checks:
            yield from unknown((*here, "options"), hearing.options, answers_of(checks[name]), "answer")
        elif name != DANGER:
            yield from unknown(here, [name], checks, "check")
        yield from unknown((*here, "source"), [hearing.source], kb.sources, "source")


def lists(kb: KnowledgeBase) -> Found:
    """Every list that a phrase names is there, and holds single words: of two, either would do alone."""
    for name, hearing in kb.heard.items():
        here = ("heard", name)
        for option, texts in hearing.options.items():
            named = [p[1:] for text in texts for part in text.split() for p in part.split("|") if p.startswith("$")]
            yield from unknown((*here, "options", option), named, hearing.lists, "word_list")
        for key, words in {**hearing.lists, "elsewhere": hearing.elsewhere}.items():
            for word in words:
                if len(word.replace("-", " ").split()) > 1:
                    yield (*here, key), say("knowledge.one_word", words=word)


LINTS = (heard, lists)
