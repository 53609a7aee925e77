"""Lints over the phrases that are heard in words."""

from collections.abc import Iterable, Mapping

from diagnose.kb.domain import answers_of
from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.heard import COMPLAINT, DANGER
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import Words
from diagnose.words import say

Where = tuple[str | int, ...]


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
    """What a phrase names is there, and a list holds single words: of two, either would do alone."""
    shared = kb.speech.lists
    yield from _words(("speech", "lists"), shared, shared)
    for name, texts in kb.speech.ways.items():
        yield from _phrases(kb, ("speech", "ways", name), texts, shared)
    for name, hearing in kb.heard.items():
        here, known = ("heard", name), {**shared, **hearing.lists}
        for option, texts in hearing.options.items():
            yield from _phrases(kb, (*here, "options", option), texts, known)
        yield from _words(here, hearing.lists, known)
        alone = {"elsewhere": hearing.elsewhere, "amid": hearing.amid, "never_amid": hearing.never_amid}
        yield from _words(here, alone, known)


def _phrases(kb: KnowledgeBase, here: Where, texts: Iterable[str], known: Mapping[str, Words]) -> Found:
    parts = [part for text in texts for part in text.split()]
    yield from unknown(here, [part[1:] for part in parts if part.startswith("@")], kb.speech.ways, "turn_of_phrase")
    named = [each[1:] for part in parts for each in part.split("|") if each.startswith("$")]
    yield from unknown(here, named, known, "word_list")


def _words(here: Where, lists: Mapping[str, Words], known: Mapping[str, Words]) -> Found:
    for key, words in lists.items():
        yield from unknown((*here, key), [word[1:] for word in words if word.startswith("$")], known, "word_list")
        for word in words:
            if len(word.replace("-", " ").split()) > 1:
                yield (*here, key), say("knowledge.one_word", words=word)


LINTS = (heard, lists)
