"""What is done in one go: looks at one place, each with what it is when all is well; what a measurement needs."""

from dataclasses import dataclass

from diagnose.core.looks import normal
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.present.question import Help, Question, help_of, question_of
from diagnose.session.state import Session
from diagnose.session.wording import answer_says


@dataclass(frozen=True, slots=True)
class Look:
    """One of the looks; `normal` is the answer, and `well` its words, when all is as it should be."""

    question: Question
    help: Help
    normal: str
    well: str


@dataclass(frozen=True, slots=True)
class LookRound:
    """`minutes` of all the looks together; `stand`: where a caller stands for all of them."""

    looks: tuple[Look, ...]
    minutes: int
    stand: str


@dataclass(frozen=True, slots=True)
class FactsRound:
    """What has to be known for a measurement, in order, and mostly the measurement itself as the last."""

    facts: tuple[tuple[Question, Help], ...]
    minutes: int
    stand: str


def looks_of(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> LookRound | None:
    """What is looked at in one go now; None where one question stands alone."""
    if conclusion.next.why == "needed" or not (checks := in_one_go(kb, conclusion)):
        return None
    looks = tuple(
        Look(
            question_of(kb, session, check),
            help_of(kb, session, check),
            normal(check),
            answer_says(check, Answer(check.id, normal(check)), session.setup.role),
        )
        for check in checks
    )
    return LookRound(looks, round(sum(c.minutes for c in checks)), looks[0].question.stand)


def facts_of(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> FactsRound | None:
    """What is asked in one go now before a measurement; None where one question stands alone."""
    if conclusion.next.why != "needed" or not (checks := in_one_go(kb, conclusion)):
        return None
    facts = tuple((question_of(kb, session, check), help_of(kb, session, check)) for check in checks)
    return FactsRound(facts, round(sum(c.minutes for c in checks)), facts[-1][0].stand)


def in_one_go(kb: KnowledgeBase, conclusion: Conclusion) -> tuple[Check, ...]:
    """The next check and those beside it; none where it stands alone."""
    step = conclusion.next
    return tuple(kb.checks[c] for c in (step.check, *step.beside)) if step.beside else ()
