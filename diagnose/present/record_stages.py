"""What was checked between the repairs, with readings, limits and arithmetic; and what changed."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from diagnose.core.facts import fact_name
from diagnose.core.reason import Conclusion, Reasoner, Staged
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.rules import Calculation
from diagnose.model.visit import Answer
from diagnose.present.clean import LONGEST_NAME, clean
from diagnose.present.record import Checked, Compared, RecordedStage, Version
from diagnose.session.session import BY_TECHNICIAN
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text, by_says, earlier_says, role_of
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Lap:
    """One stage of a visit, from a repair that did not end the trouble to the next: new answers, what they meant."""

    answers: tuple[Answer, ...]
    conclusion: Conclusion | Staged


def laps(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> tuple[Lap, ...]:
    """The stages of the visit, oldest first; the last one is the present."""
    reasoner = reasoner.at(session.setup.gear)
    before = [
        Lap(a.answers, reasoner.staged(then.setup, then.complaint, then.answers, then.lasting))
        for a, then in zip(session.attempts, _before_repairs(session), strict=True)
    ]
    return (*before, Lap(session.answers, conclusion))


def _before_repairs(session: Session) -> Iterator[Session]:
    """The session as it was looked at when each repair was decided on."""
    return (replace(session, answers=then.answers, carried=then.carried) for then in session.attempts)


def stages(
    kb: KnowledgeBase, session: Session, all_laps: tuple[Lap, ...], version: Version
) -> tuple[RecordedStage, ...]:
    """Every lap in which something was checked, in words."""
    found = [
        RecordedStage(_title(kb, session, number), _checks(kb, lap, version)) for number, lap in enumerate(all_laps)
    ]
    return tuple(stage for stage in found if stage.checks)


def _title(kb: KnowledgeBase, session: Session, number: int) -> str:
    """Repair `number` (from 0) is the one that this lap led to, if it came to that."""
    if number < len(session.repairs):
        cause = kb.causes[session.repairs[number].cause]
        return say("report.before_repair", number=number + 1, cause=cause.says)
    return say("report.after_repair", number=number) if number else say("report.on_this_visit")


def _checks(kb: KnowledgeBase, lap: Lap, version: Version) -> tuple[Checked, ...]:
    held_against = _limits(kb, lap)
    return tuple(
        _checked(kb.checks[a.check], a, version, a.check not in lap.conclusion.stale, held_against)
        for a in lap.answers
        if a.check in kb.checks and (version == "full" or (a.says_something and a.check not in lap.conclusion.stale))
    )


def _checked(
    check: Check,
    answer: Answer,
    version: Version,
    counted: bool,
    held_against: dict[str, tuple[str, ...]],
) -> Checked:
    asked, said = in_words(check, answer, version)
    limits = held_against.get(check.id, ())
    if version == "full" and check.kind == "quantity" and check.finding and not limits:
        limits = (say("report.wanted", good=check.good),)
    by = clean(by_says(answer.by), LONGEST_NAME) if answer.by != BY_TECHNICIAN else ""
    note = say("report.heard", words=answer.note) if answer.heard else "" if answer.told[1] else answer.note
    return Checked(asked, said, limits, by, note, _replaced(check, answer, version), counted)


def in_words(check: Check, answer: Answer, version: Version) -> tuple[str, str]:
    """What was asked and answered: as it was put on the visit, or for a customer by what it is about."""
    giver = role_of(answer.by)
    if version == "full":
        return ask_text(check, giver), answer_says(check, answer, giver)
    if check.finding:
        return capital(check.finding.says), answer_says(check, answer, "technician")
    return ask_text(check, "help_desk"), answer_says(check, answer, giver)  # 'isolated' is more than 'kept away'


def _replaced(check: Check, answer: Answer, version: Version) -> str:
    if version != "full" or answer.replaced is None:
        return ""
    return earlier_says(check, answer.replaced, role_of(answer.replaced.by))


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _limits(kb: KnowledgeBase, lap: Lap) -> dict[str, tuple[str, ...]]:
    """Per check the calculations whose last input it gave, each with its arithmetic."""
    facts = {fact_name(kb.checks[a.check]): a.check for a in lap.answers if a.says_something and a.check in kb.checks}
    found: dict[str, tuple[str, ...]] = {}
    for name, outcome in lap.conclusion.known.outcomes.items():
        calculation = kb.calculations[name]
        if given := [check for fact, check in facts.items() if fact in calculation.inputs.values()]:
            says = _arithmetic(calculation, outcome.says)
            found[given[-1]] = (*found.get(given[-1], ()), says)
    return found


def _arithmetic(calculation: Calculation, says: str) -> str:
    return say("report.arithmetic", calculation=capital(calculation.says.rstrip(".")), says=says.replace("_", " "))


def compared(kb: KnowledgeBase, all_laps: tuple[Lap, ...], version: Version) -> tuple[Compared, ...]:
    """Checks that were answered both before a repair and after it."""
    said: dict[str, list[Answer]] = {}
    for answer in (a for lap in all_laps for a in lap.answers if a.says_something and a.check in kb.checks):
        said.setdefault(answer.check, []).append(answer)
    found = []
    for name, answers in said.items():
        if len(answers) > 1:
            asked, before = in_words(kb.checks[name], answers[0], version)
            _, now = in_words(kb.checks[name], answers[-1], version)
            found.append(Compared(asked, before, now))
    return tuple(found)
