"""The single conditions that the end of a visit has to meet, each with what refuses an end that does not meet it."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, get_args

from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.checklist import open_items, ordered, touched_protection
from diagnose.session.events import Close
from diagnose.session.refusals import Refusal, refused
from diagnose.session.state import Outcome, Receiver, Session

Found = Refusal | None
Ground = Callable[[KnowledgeBase, Any, Any], Found]
ENDS = tuple(o for o in get_args(Outcome) if o)
RECEIVERS: tuple[Receiver, ...] = get_args(Receiver)


def known_ending(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del session
    return None if event.outcome in ENDS else refused("no_ending", known=", ".join(ENDS), name=repr(event.outcome))


def reason_given(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del session
    return None if event.reason.strip() else refused("no_reason")


def repair_proved(kb: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return refused("not_proved", name=kb.causes[session.pending.cause].says) if session.pending else None


def at_gate(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return refused("not_at_gate") if session.setup.role == "help_desk" else None


def everything_proved(kb: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    left = open_items(kb, session)
    return refused("still_open", name=left[0].says) if left else None


def trouble_gone(_: KnowledgeBase, session: Session, event: Close) -> Found:
    """After a repair in vain, or another fault, something has to be mended and proved before it serves again."""
    del event
    return refused("still_wrong") if session.attempts and not session.mended else None


def on_phone(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return None if session.setup.role == "help_desk" else refused("not_on_phone")


def no_order(kb: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return refused("order_stands") if ordered(kb, session) else None


def something_proved(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return None if any(r.proof == "passed" for r in session.repairs) else refused("nothing_proved")


def something_shown(_: KnowledgeBase, session: Session, event: Close) -> Found:
    """That nothing is left to prove says nothing where nothing was mended and nothing tried."""
    del event
    shown = any(r.proof == "passed" for r in session.repairs) or any(t.result == "pass" for t in session.ticks)
    return None if shown else refused("nothing_shown")


def protection_untouched(kb: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return refused("protection_owed") if touched_protection(kb, session) else None


def protection_touched(kb: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return None if touched_protection(kb, session) else refused("no_protection_touched")


def prover_named(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del session
    return None if event.by.strip() else refused("no_prover")


def due_named(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del session
    return None if is_day(event.due) else refused("no_due")


def is_day(text: str) -> bool:
    """Whether this is a day as 2026-12-03."""
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def meanwhile_named(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del session
    return None if event.meanwhile.strip() else refused("no_meanwhile")


def receiver_known(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del session
    return None if event.to in RECEIVERS else refused("no_receiver", known=", ".join(RECEIVERS))


def nothing_mended(_: KnowledgeBase, session: Session, event: Close) -> Found:
    del event
    return refused("was_mended") if any(r.proof == "passed" for r in session.repairs) else None


def nothing_owed(kb: KnowledgeBase, session: Session, event: Close) -> Found:
    """On the phone nobody can prove a line of the checklist; without an order none is owed there."""
    return (no_order if session.setup.role == "help_desk" else everything_proved)(kb, session, event)


CLOSING: Mapping[str, Ground] = {
    "known_ending": known_ending,
    "reason_given": reason_given,
    "repair_proved": repair_proved,
    "at_gate": at_gate,
    "everything_proved": everything_proved,
    "trouble_gone": trouble_gone,
    "on_phone": on_phone,
    "no_order": no_order,
    "something_proved": something_proved,
    "something_shown": something_shown,
    "protection_untouched": protection_untouched,
    "protection_touched": protection_touched,
    "prover_named": prover_named,
    "due_named": due_named,
    "meanwhile_named": meanwhile_named,
    "receiver_known": receiver_known,
    "nothing_mended": nothing_mended,
    "nothing_owed": nothing_owed,
}
