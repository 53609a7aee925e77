"""What has to be seen before anything else: stop-work orders, doubtful answers, and those that count no longer."""

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.present.figures import percent
from diagnose.session.doubts import DoubtedAnswer, look_again, unfitting
from diagnose.session.parse import options_of
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Order:
    """A stop-work order: in full until it is confirmed, then `short` for as long as it stands."""

    id: str
    says: str
    short: str
    tell: str
    tag: str
    confirmed: bool


@dataclass(frozen=True, slots=True)
class Again:
    """An answer to look at again: its check, its number on the visit, the question and what was said."""

    check: str
    number: int
    asked: str
    said: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """What does not fit. `id` stays the same as long as it is the same doubt."""

    id: str
    says: str
    again: tuple[Again, ...]


@dataclass(frozen=True, slots=True)
class Lost:
    """An answer that counts no longer."""

    check: str
    says: str


def orders_of(kb: KnowledgeBase, conclusion: Conclusion) -> tuple[Order, ...]:
    """Every order that stands, those not confirmed first."""
    found = [_order(kb, name, name not in conclusion.stop_work) for name in conclusion.stands]
    return tuple(sorted(found, key=lambda order: order.confirmed))


def _order(kb: KnowledgeBase, name: str, confirmed: bool) -> Order:
    caution = kb.cautions[name]
    return Order(name, caution.says, caution.short, caution.tell, caution.tag, confirmed)


def doubts_of(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> tuple[Doubt, ...]:
    """Answers that contradict each other; the most surprising when all fit badly, else the one that fits worst."""
    found = []
    sure = session.confirmed
    for rule in conclusion.after.contradictions:
        doubt = kb.rules[rule].then.contradiction
        if doubt and not sure.issuperset(doubt.recheck):
            found.append(Doubt(rule, doubt.says, _again(kb, session, doubt.recheck)))
    if surprising := unfitting(kb, conclusion, sure):
        found.append(Doubt("all", say("present.unfitting"), _again(kb, session, [d.check for d in surprising])))
    elif misfit := look_again(kb, conclusion, sure):
        found.append(Doubt(misfit.check, _misfit_says(kb, session, misfit), _again(kb, session, (misfit.check,))))
    return tuple(found)


def _misfit_says(kb: KnowledgeBase, session: Session, doubted: DoubtedAnswer) -> str:
    """How likely it is wrong, and what would fit better where that is an answer in words."""
    check, wrong = kb.checks[doubted.check], percent(doubted.wrong)
    means = check.finding.states.get(doubted.better, ()) if check.finding else ()
    option = next((o for o in means if o in options_of(check)), "")
    if not option or doubted.better == doubted.state:
        return say("present.likely_wrong", percent=wrong)
    better = answer_says(check, Answer(check.id, option), session.setup.role)
    return say("present.likely_wrong_better", percent=wrong, better=better)


def _again(kb: KnowledgeBase, session: Session, checks: Iterable[str]) -> tuple[Again, ...]:
    """Those of the checks that have an answer now, in the order named."""
    role, given = session.setup.role, [(kb.checks[c], a) for c in checks if (a := session.answer(c))]
    return tuple(Again(c.id, session.number(c.id), ask_text(c, role), answer_says(c, a, role)) for c, a in given)


def lost_of(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> tuple[Lost, ...]:
    """Answers whose condition no longer holds."""
    role = session.setup.role
    asked = ((name, ask_text(kb.checks[name], role)) for name in conclusion.stale)
    return tuple(Lost(name, say("present.lost", question=question)) for name, question in asked)


def own_says(kb: KnowledgeBase) -> str:
    """That the knowledge is not what came with the program; '' where it is."""
    return say("present.own_knowledge", digest=kb.digest) if kb.own else ""
