"""A conclusion on the phone: what the caller does himself, who is sent with what, what holds meanwhile."""

from dataclasses import dataclass

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import CallerRemedy, KnowledgeBase
from diagnose.present.figures import minutes
from diagnose.session.caller import his_own, meanwhile, on_phone, told_steps
from diagnose.session.dispatch import likely_causes, needs_electrician, what_to_bring
from diagnose.session.state import Session
from diagnose.session.summary import Ranked, Summary
from diagnose.session.wording import likely_says, who_says
from diagnose.words import say

MOST_THINGS = 4  # to bring; the sheet has them all
LEAST_WANTED = 0.10


@dataclass(frozen=True, slots=True)
class OwnRemedy:
    """What the caller may do about one cause, which `says` names, and what he sees if it worked."""

    cause: str
    says: str
    steps: tuple[str, ...]
    proof: str


@dataclass(frozen=True, slots=True)
class ForCaller:
    """`own` best first; `afterwards` what a technician proves all the same.

    `send`: who is sent, '' where nobody has to be, and what to `bring`.
    """

    own: tuple[OwnRemedy, ...]
    afterwards: tuple[str, ...]
    send: str
    bring: str
    meanwhile: tuple[str, ...]


def for_caller(kb: KnowledgeBase, session: Session, conclusion: Conclusion, summary: Summary) -> ForCaller | None:
    """None where nobody is on the phone."""
    if not on_phone(session):
        return None
    own = his_own(session, conclusion, summary)
    owed = _afterwards(kb, own)
    send, bring = ("", "") if summary.designed else _sent(kb, conclusion, bool(own and not owed))
    return ForCaller(_own(kb, own), owed, send, bring, meanwhile(kb, session, conclusion))


def _sent(kb: KnowledgeBase, conclusion: Conclusion, only_if: bool) -> tuple[str, str]:
    """Who is sent, and with what; `only_if`: only where what the caller does is not enough."""
    causes = likely_causes(conclusion)
    who = who_says("electrician" if needs_electrician(kb, causes) else "technician")
    wanted = [b.says for b in what_to_bring(kb, causes, ()) if b.wanted >= LEAST_WANTED]
    return say("present.send_if", who=who) if only_if else who, "; ".join(wanted[:MOST_THINGS])


def _own(kb: KnowledgeBase, own: tuple[tuple[Ranked, CallerRemedy], ...]) -> tuple[OwnRemedy, ...]:
    """What makes hands near the gate safe is said in full once, and called to mind after that."""
    shown: list[OwnRemedy] = []
    for n, (ranked, remedy) in enumerate(own):
        again = any(before.hands_near for _, before in own[:n])
        likely, takes = likely_says(ranked.probability), minutes(remedy.minutes)
        says = say("present.caller_about", cause=ranked.cause.says, likely=likely, minutes=takes)
        shown.append(OwnRemedy(ranked.cause.id, says, told_steps(kb, remedy, again), remedy.proof))
    return tuple(shown)


def _afterwards(kb: KnowledgeBase, own: tuple[tuple[Ranked, CallerRemedy], ...]) -> tuple[str, ...]:
    touched = dict.fromkeys(t for ranked, _ in own for t in ranked.cause.remedy.touches)
    return tuple(kb.proofs[t].says for t in touched if kb.proofs[t].protective)
