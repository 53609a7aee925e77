"""Lints by meaning: work that can hurt, known by its words, carries its caution and is asked of no caller."""

import re
from collections.abc import Iterator

from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.named import Words
from diagnose.words import say


def references(kb: KnowledgeBase) -> Found:
    entries = {*kb.causes, *kb.checks}
    for danger in kb.dangers.values():
        here = ("dangers", danger.id)
        yield from unknown((*here, "cautions"), danger.cautions, kb.cautions, "caution")
        yield from unknown((*here, "spared"), danger.spared, entries, "entry")
        yield from unknown((*here, "source"), [danger.source], kb.sources, "source")
        if not _compiles(danger.words):
            yield (*here, "words"), say("knowledge.no_pattern", words=danger.words)


def _compiles(words: str) -> bool:
    try:
        return bool(re.compile(words))
    except re.error:
        return False


def told(kb: KnowledgeBase) -> Found:
    """Steps of remedies and ways of checking that name a danger carry one of its cautions."""
    for danger in kb.dangers.values():
        for path, text, cautions in _works(kb):
            if path[1] in danger.spared or not _compiles(danger.words) or set(danger.cautions) & set(cautions):
                continue
            if found := re.search(danger.words, text, re.IGNORECASE):
                known = ", ".join(danger.cautions)
                yield path, say("knowledge.danger_untold", danger=danger.id, words=found.group(), known=known)


def asked(kb: KnowledgeBase) -> Found:
    """No caller is asked to do what can hurt."""
    for danger in (d for d in kb.dangers.values() if d.never_for_callers and _compiles(d.words)):
        for check in kb.checks.values():
            if check.who == "caller" and (found := re.search(danger.words, check.ask_caller, re.IGNORECASE)):
                path = ("checks", check.id, "ask_caller")
                yield path, say("knowledge.danger_for_caller", danger=danger.id, words=found.group())


def _works(kb: KnowledgeBase) -> Iterator[tuple[tuple[str, ...], str, Words]]:
    """(where, what is done, cautions told before it) of everything that not only an electrician may do."""
    yield from (_remedy(c, kb) for c in kb.causes.values() if c.remedy.who != "electrician")
    yield from (_check(c, kb) for c in kb.checks.values() if c.who != "electrician")


def _remedy(cause: Cause, kb: KnowledgeBase) -> tuple[tuple[str, ...], str, Words]:
    remedy = cause.remedy
    cautions = (*cause.cautions, *remedy.cautions, *_of_access(remedy.access, kb))
    return ("causes", cause.id, "remedy"), "\n".join(remedy.steps), cautions


def _check(check: Check, kb: KnowledgeBase) -> tuple[tuple[str, ...], str, Words]:
    text = "\n".join((check.ask, check.help))
    return ("checks", check.id, "help"), text, (*check.cautions, *_of_access(check.access, kb))


def _of_access(access: str, kb: KnowledgeBase) -> Words:
    return kb.access[access].cautions if access in kb.access else ()


LINTS = (references, told, asked)
