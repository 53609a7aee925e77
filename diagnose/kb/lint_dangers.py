"""Lints by meaning: work that can hurt, known by its words, carries its caution and is asked of no caller."""

import re
from collections.abc import Iterator

from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import RANKS, DangerousWork, Who, Words
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.words import say


def references(kb: KnowledgeBase) -> Found:
    entries = {*kb.causes, *kb.checks}
    for danger in kb.dangers.values():
        here = ("dangers", danger.id)
        yield from unknown((*here, "cautions"), danger.cautions, kb.cautions, "caution")
        yield from unknown((*here, "spared"), danger.spared, entries, "entry")
        yield from unknown((*here, "source"), [danger.source], kb.sources, "source")
        if not compiled(danger.words):
            yield (*here, "words"), say("knowledge.no_pattern", words=danger.words)


def compiled(words: str) -> re.Pattern[str] | None:
    try:
        return re.compile(words, re.IGNORECASE)
    except re.error:
        return None


def _known(kb: KnowledgeBase) -> Iterator[tuple[DangerousWork, re.Pattern[str]]]:
    """Every danger of all work with its words, where they are a pattern."""
    for danger in kb.dangers.values():
        if danger.callers_only:
            continue
        if pattern := compiled(danger.words):
            yield danger, pattern


def told(kb: KnowledgeBase) -> Found:
    """Steps of remedies and ways of checking that name a danger carry one of its cautions."""
    works = tuple(_works(kb))
    for danger, pattern in _known(kb):
        for path, text, cautions in works if danger.cautions else ():
            spared = path[1] in danger.spared or set(danger.cautions) & set(cautions)
            if not spared and (found := pattern.search(text)):
                known = ", ".join(danger.cautions)
                yield path, say("knowledge.danger_untold", danger=danger.id, words=found.group(), known=known)


def licensed(kb: KnowledgeBase) -> Found:
    """Work that only somebody with a licence may do says so by its words, whatever access or tools it names."""
    for danger, pattern in _known(kb):
        for path, who, text in _doers(kb):
            spared = path[1] in danger.spared or RANKS.index(who) >= RANKS.index(danger.least)
            if not spared and (found := pattern.search(text)):
                shown = {"danger": danger.id, "words": found.group(), "who": danger.least}
                yield (*path, "who"), say("knowledge.danger_licensed", **shown)


def _doers(kb: KnowledgeBase) -> Iterator[tuple[tuple[str, ...], Who, str]]:
    """(where, who does it, what is done)."""
    for cause in kb.causes.values():
        yield ("causes", cause.id, "remedy"), cause.remedy.who, "\n".join(cause.remedy.steps)
    for check in kb.checks.values():
        yield ("checks", check.id), check.who, "\n".join((check.ask, check.help))


def asked(kb: KnowledgeBase) -> Found:
    """No caller is asked to do what can hurt."""
    for danger, pattern in _known(kb):
        for check in kb.checks.values() if danger.never_for_callers else ():
            if check.who == "caller" and (found := pattern.search(check.ask_caller)):
                path = ("checks", check.id, "ask_caller")
                yield path, say("knowledge.danger_for_caller", danger=danger.id, words=found.group())


def _works(kb: KnowledgeBase) -> Iterator[tuple[tuple[str, ...], str, Words]]:
    """(where, what is done, cautions told before it) of everything that not only an electrician may do."""
    for cause in kb.causes.values():
        if cause.remedy.who != "electrician":
            yield ("causes", cause.id, "remedy"), "\n".join(cause.remedy.steps), remedy_cautions(kb, cause)
    for check in kb.checks.values():
        if check.who != "electrician":
            yield ("checks", check.id, "help"), "\n".join((check.ask, check.help)), cautions_for(kb, check)


LINTS = (references, told, licensed, asked)
