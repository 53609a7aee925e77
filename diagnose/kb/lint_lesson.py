"""The first lesson and the trade's words: what they name is there, and what a check shows is an answer of it."""

from collections.abc import Iterator, Mapping

from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say

Found = Iterator[tuple[tuple[str | int, ...], str]]


def names(kb: KnowledgeBase) -> Found:
    """Links, pictures, complaints and causes that are named."""
    for term in kb.terms.values():
        if term.link and term.link not in kb.links:
            yield ("terms", term.id, "link"), say("knowledge.lesson_unknown", name=term.link)
    for step in kb.walk.values():
        wanted = (("link", step.link, kb.links), ("picture", step.picture, kb.pictures))
        for field, name, known in wanted:
            if name and name not in known:
                yield ("walk", step.id, field), say("knowledge.lesson_unknown", name=name)
        if not 1 <= step.right <= len(step.answers):
            yield ("walk", step.id, "right"), say("knowledge.lesson_right", most=len(step.answers))
    for gate in kb.examples.values():
        for field, name in (("complaint", gate.complaint), ("cause", gate.cause)):
            if name not in (kb.complaints if field == "complaint" else kb.causes):
                yield ("examples", gate.id, field), say("knowledge.lesson_unknown", name=name)


def readings(kb: KnowledgeBase) -> Found:
    """What checks show, and the checks that are done."""
    for step in kb.walk.values():
        for field, shows in (("sound", step.sound), ("broken", step.broken)):
            yield from _shown(kb, ("walk", step.id, field), shows)
    for gate in kb.examples.values():
        yield from _shown(kb, ("examples", gate.id, "shows"), gate.shows)
        for check in gate.steps:
            if check not in kb.checks:
                yield ("examples", gate.id, "steps", check), say("knowledge.lesson_unknown", name=check)


def _shown(kb: KnowledgeBase, path: tuple[str, ...], shows: Mapping[str, str | float]) -> Found:
    for name, value in shows.items():
        check = kb.checks.get(name)
        if check is None:
            yield (*path, name), say("knowledge.lesson_unknown", name=name)
        elif (value not in answers_of(check)) if answers_of(check) else isinstance(value, str):
            yield (*path, name), say("knowledge.lesson_answer", name=name, value=value)


def once(kb: KnowledgeBase) -> Found:
    """No word is explained twice."""
    seen: dict[str, str] = {}
    for term in kb.terms.values():
        for word in (term.says, *term.words):
            if (other := seen.setdefault(word.casefold(), term.id)) != term.id:
                yield ("terms", term.id), say("knowledge.lesson_twice", word=word, other=other)


LINTS = (names, readings, once)
