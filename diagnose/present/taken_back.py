"""What one step back has taken back, in words."""

from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say


def taken_back(kb: KnowledgeBase, before: Session, now: Session) -> str:
    """The difference that a person has to know of; '' where there is none."""
    if now.concluded and not before.concluded:
        return say("present.back_conclusion")
    if before.end != now.end:
        return say("present.back_opened" if now.outcome else "present.back_end")
    return _mending(kb, before, now) or _answer(kb, before, now)


def _mending(kb: KnowledgeBase, before: Session, now: Session) -> str:
    if before.repairs != now.repairs:
        taken = len(before.repairs) > len(now.repairs)
        cause = kb.causes[before.repairs[-1].cause].says
        return say("present.back_repair" if taken else "present.back_proof", cause=cause)
    if before.attempts != now.attempts:
        return say("present.back_fault")
    return say("present.back_tick") if before.ticks != now.ticks else ""


def _answer(kb: KnowledgeBase, before: Session, now: Session) -> str:
    gone = [a for a in before.answers if a not in now.answers and a.check in kb.checks]
    if not gone:
        return ""
    check, role = kb.checks[gone[-1].check], before.setup.role
    return say("present.back_answer", asked=ask_text(check, role), said=answer_says(check, gone[-1], role))
