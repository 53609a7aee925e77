"""Lints over what a caller does himself, and over what holds until somebody comes."""

import re
from collections.abc import Iterator

from diagnose.kb.lint_causes import Found, unknown
from diagnose.kb.lint_checks import jargon
from diagnose.kb.lint_dangers import compiled
from diagnose.model.knowledge import CallerRemedy, KnowledgeBase
from diagnose.words import say

# Work that brings hands near the gate; whoever only asks, looks or drives a car away does none of it.
HANDS = re.compile(
    r"\b((wip|rins|wash|brush|sweep|rak|shovel|cut|peel|thaw|scrap|carry|roll|untie|lift)\w*|"
    r"(tie|ties|tied)|tak\w* (it|its|what|loose|down|the)|hands?)\b",
    re.IGNORECASE,
)
FORBIDS = re.compile(r"\b(never|nobody|not|nothing|no)\b", re.IGNORECASE)  # a sentence that says what is not done


def references(kb: KnowledgeBase) -> Found:
    for cause, remedy in _remedies(kb):
        yield from unknown(("causes", cause, "caller", "cautions"), remedy.cautions, kb.cautions, "caution")
    for name in ("caller_before", "caller_after"):
        yield from unknown(("settings", name), filter(None, [getattr(kb.settings, name)]), kb.cautions, "caution")
    yield from unknown(("settings", "meanwhile"), kb.settings.meanwhile, kb.cautions, "caution")


def _remedies(kb: KnowledgeBase) -> Iterator[tuple[str, CallerRemedy]]:
    return ((cause.id, cause.caller) for cause in kb.causes.values() if cause.caller)


def complete(kb: KnowledgeBase) -> Found:
    """Steps, their minutes, and a proof."""
    for cause, remedy in _remedies(kb):
        here = ("causes", cause, "caller")
        said = (*remedy.steps, remedy.proof)
        if not remedy.steps or not all(map(str.strip, said)) or remedy.minutes <= 0:
            yield here, say("knowledge.caller_incomplete")


def around(kb: KnowledgeBase) -> Found:
    """Before and after hands come near the gate something is said that makes it safe."""
    near = any(remedy.hands_near for _, remedy in _remedies(kb))
    for name in ("caller_before", "caller_after"):
        if near and not getattr(kb.settings, name):
            yield ("settings", name), say("knowledge.caller_hands_untold")


def hands(kb: KnowledgeBase) -> Found:
    """Whatever brings hands near the gate is marked so: the gate is off then, and somebody watches."""
    for cause, remedy in _remedies(kb):
        if not remedy.hands_near and (found := HANDS.search("\n".join(remedy.steps))):
            yield ("causes", cause, "caller", "hands_near"), say("knowledge.caller_hands", words=found.group())


def harmless(kb: KnowledgeBase) -> Found:
    """No step of a caller's says a word of danger; a few are allowed to him with their caution."""
    for danger in kb.dangers.values():
        pattern = compiled(danger.words)
        for cause, remedy in _remedies(kb):
            told = danger.callers_only and set(danger.cautions) & set(remedy.cautions)
            found = pattern and pattern.search("\n".join((*remedy.steps, remedy.proof)))
            if found and not told:
                path = ("causes", cause, "caller", "steps")
                yield path, say("knowledge.danger_for_caller", danger=danger.id, words=found.group())


def plain(kb: KnowledgeBase) -> Found:
    for cause, remedy in _remedies(kb):
        if word := jargon("\n".join((*remedy.steps, remedy.proof)), kb):
            yield ("causes", cause, "caller", "steps"), say("knowledge.jargon", word=word)


def meanwhile(kb: KnowledgeBase) -> Found:
    """Until somebody comes, every complaint and every stop-work order has its measures; none of them is dangerous."""
    stops = {f"cautions.{c.id}": c.meanwhile for c in kb.cautions.values() if c.stop_work}
    for name, said in {**{f"complaints.{c.id}": c.meanwhile for c in kb.complaints.values()}, **stops}.items():
        path = (*name.split("."), "meanwhile")
        if not any(s.strip() for s in said):
            yield path, say("knowledge.no_meanwhile")
        yield from _risky(kb, path, said)


def _risky(kb: KnowledgeBase, path: tuple[str, ...], said: tuple[str, ...]) -> Found:
    orders = [s for text in said for s in re.split(r"(?<=[.;])\s", text) if not FORBIDS.search(s)]
    for danger in kb.dangers.values():
        pattern = compiled(danger.words)
        if pattern and (found := pattern.search("\n".join(orders))):
            yield path, say("knowledge.danger_for_caller", danger=danger.id, words=found.group())


LINTS = (references, complete, around, hands, harmless, plain, meanwhile)
