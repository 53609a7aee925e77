"""Lints over what is proved: after a repair, and before a gate goes back into service."""

import re
from collections.abc import Iterator

from diagnose.kb.domain import setup_domain
from diagnose.kb.lint_causes import Found, unknown
from diagnose.kb.lint_checks import condition_problems
from diagnose.kb.lint_effects import reached
from diagnose.model.knowledge import Cause, Effect, KnowledgeBase
from diagnose.model.named import Duty
from diagnose.words import say

_COUNT = re.compile(
    r"\d|\b(once|twice|two|three|four|five|six|seven|eight|nine|ten|twelve|fifteen|twenty|thirty|fifty|hundred)\b",
    re.IGNORECASE,
)


def proofs(kb: KnowledgeBase) -> Found:
    domain, orders = setup_domain(kb), [c.id for c in kb.cautions.values() if c.stop_work]
    for proof in kb.proofs.values():
        here = ("proofs", proof.id)
        yield from unknown((*here, "after_caution"), proof.after_caution, kb.cautions, "caution")
        yield from unknown((*here, "never_waved_after"), proof.never_waved_after, orders, "stop_work_caution")
        yield from condition_problems((*here, "when"), proof.when, domain)
        if not proof.says.strip():
            yield (*here, "says"), say("knowledge.say_how_it_is_proved")


def counted(kb: KnowledgeBase) -> Found:
    """How often, how long or how much: a proof without a number is passed by whoever looks briefly."""
    for cause in kb.causes.values():
        if cause.proof.strip() and not _COUNT.search(cause.proof):
            yield ("causes", cause.id, "proof"), say("knowledge.proof_without_number")


def duties(kb: KnowledgeBase) -> Found:
    """A remedy that changes what protects owes a proof of it."""
    for duty in kb.duties.values():
        here = ("duties", duty.id)
        yield from unknown((*here, "touches"), duty.touches, kb.proofs, "proof")
        yield from unknown((*here, "spared"), duty.spared, kb.causes, "cause")
        yield from unknown((*here, "source"), [duty.source], kb.sources, "source")
        if not duty.touches or not _compiled(duty.words):
            yield (*here, "words"), say("knowledge.no_pattern", words=duty.words)
            continue
        yield from _owed(kb, duty)


def _owed(kb: KnowledgeBase, duty: Duty) -> Found:
    for cause in kb.causes.values():
        done = re.search(duty.words, "\n".join(cause.remedy.steps), re.IGNORECASE)
        if done and cause.id not in duty.spared and not set(duty.touches) & set(cause.remedy.touches):
            shown = {"words": done.group(), "duty": duty.id, "known": ", ".join(duty.touches)}
            yield ("causes", cause.id, "remedy"), say("knowledge.duty_unowed", **shown)


def patterns(kb: KnowledgeBase) -> Found:
    """An effect that is often not there when somebody looks says by which words a proof names its occasion."""
    for effect in kb.effects.values():
        if effect.rests and not effect.proved:
            yield ("effects", effect.id), say("knowledge.rests_unproved")
        elif not _compiled(effect.proved):
            yield ("effects", effect.id, "proved"), say("knowledge.no_pattern", words=effect.proved)


def occasions(kb: KnowledgeBase) -> Found:
    """What comes and goes passes every proof while it is away: the proof brings the occasion on, or waits for it."""
    for cause in kb.causes.values():
        for effect in _brought(cause, kb):
            pattern = _compiled(effect.proved)
            if effect.proved and pattern and not pattern.search(cause.proof):
                shown = {"effect": effect.id, "words": effect.proved}
                yield ("causes", cause.id, "proof"), say("knowledge.proof_without_occasion", **shown)


def _brought(cause: Cause, kb: KnowledgeBase) -> Iterator[Effect]:
    """Every effect that the cause has in one way or another."""
    first = {*cause.brings, *(to for way in cause.one_of.values() for to in way.brings)} & set(kb.effects)
    found = first.union(*(reached(kb.effects[name], kb) for name in first))
    return (effect for name, effect in kb.effects.items() if name in found)


def _compiled(words: str) -> re.Pattern[str] | None:
    try:
        return re.compile(words, re.IGNORECASE)
    except re.error:
        return None


LINTS = (proofs, counted, duties, patterns, occasions)
