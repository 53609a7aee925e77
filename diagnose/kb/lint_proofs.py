"""Lints over what is proved before a gate goes back into service."""

from diagnose.kb.domain import setup_domain
from diagnose.kb.lint_causes import Found, unknown
from diagnose.kb.lint_checks import condition_problems
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say


def proofs(kb: KnowledgeBase) -> Found:
    domain, orders = setup_domain(kb), [c.id for c in kb.cautions.values() if c.stop_work]
    for proof in kb.proofs.values():
        here = ("proofs", proof.id)
        yield from unknown((*here, "after_caution"), proof.after_caution, kb.cautions, "caution")
        yield from unknown((*here, "never_waved_after"), proof.never_waved_after, orders, "stop_work_caution")
        yield from condition_problems((*here, "when"), proof.when, domain)
        if not proof.says.strip():
            yield (*here, "says"), say("knowledge.say_how_it_is_proved")


LINTS = (proofs,)
