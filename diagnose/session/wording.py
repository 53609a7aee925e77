"""What was asked and what was answered, in the words of the role; what the fixed words of a visit are called."""

from diagnose.calc.units import format_reading
from diagnose.core.asking import Why
from diagnose.kb.domain import option_for
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.named import Who
from diagnose.model.visit import CALLER, SOMETHING_ELSE, Answer, Earlier, Role
from diagnose.session.grounds import DOERS
from diagnose.session.parse import options_of
from diagnose.words import say

ROLES = ("technician", "electrician", "help_desk")  # as a person chooses them


def role_of(by: str) -> Role:
    """In whose words somebody was asked, and so what he meant: a caller's or a technician's."""
    return "help_desk" if by.startswith(CALLER) else "technician"


def who_says(who: Who) -> str:
    """Who may do something: 'licensed electrician'."""
    return say(f"session.who_{who}")


def done_by_says(by: str) -> str:
    """Who carried a remedy out, where it was not whoever has the visit; '' where it was."""
    return say(f"session.done_by_{by}") if by in DOERS else ""


def why_says(why: Why) -> str:
    """Why the next step is what it is."""
    return say(f"session.why_{why}")


def ending_says(outcome: str) -> str:
    """How the visit ended."""
    return say(f"session.ended_{outcome}")


def places() -> dict[str, str]:
    """Where a person can be, by role, to choose from."""
    return {role: say(f"session.place_{role}") for role in ROLES}


def ask_text(check: Check, role: Role) -> str:
    """The question in the words of the role."""
    return check.ask_caller if role == "help_desk" and check.ask_caller != "never" else check.ask


def answer_says(check: Check, answer: Answer, role: Role) -> str:
    """An answer in the words of the role: the option's text, a reading with its unit, or that there was none; where
    none fitted, in the person's own."""
    if answer.value == SOMETHING_ELSE:
        return say("session.said_something_else", words=answer.note)
    if not answer.says_something:
        return say(f"session.said_{answer.value}")
    if isinstance(answer.value, str):
        said = options_of(check, role == "help_desk").get(answer.value, answer.value)
    else:
        said = format_reading(answer.value, check.unit)
    return said if answer.sure else say("session.not_sure", said=said)


def origin_says(check: Check, answer: Answer, role: Role) -> str:
    """Who gave an answer when that was not the present role, and what it replaced; '' with nothing to tell."""
    by_another = bool(answer.by) and answer.from_caller != (role == "help_desk")
    told = [by_says(answer.by)] if by_another else []
    if answer.replaced:
        told.append(say("session.replaces", said=earlier_says(check, answer.replaced, role)))
    return "; ".join(told)


def earlier_says(check: Check, earlier: Earlier, role: Role) -> str:
    """What somebody else had said before, and who: 'steady (caller, by eye)'."""
    said = answer_says(check, Answer(check.id, earlier.value, note=earlier.note), role)
    return say("session.said_by", said=said, by=by_says(earlier.by))


NAMED_BY_ROLE = ("technician", "trainee", "trip_log", "card")


def by_says(by: str) -> str:
    """Who gave an answer: a name as it was given, or in words who it was."""
    return say(f"session.by_{by}") if by in (CALLER, *NAMED_BY_ROLE) else by


def state_says(kb: KnowledgeBase, finding_id: str, state: str) -> str:
    """A finding's state in words: the option that means it, what the finding calls it, else the state's own name."""
    finding = kb.findings[finding_id]
    return option_for(kb, finding, state) or finding.called.get(state, state.replace("_", " "))


_LIKELY = ((0.93, "almost_certain"), (0.50, "likely"), (0.20, "less_likely"), (0.0, "unlikely"))


def likely_says(probability: float) -> str:
    """How likely, in a word with the number: 'likely (84 %)'."""
    word = next(word for least, word in _LIKELY if probability >= least)
    return say(f"session.{word}", percent=percent(probability))


def percent(probability: float) -> str:
    """'84 %'; a share too small to show says so."""
    if probability < 0.005:
        return say("session.under_one_percent")
    return say("session.percent", number=f"{100 * probability:.0f}")


def minutes(number: float) -> str:
    """'35 min'."""
    return say("present.minutes", number=f"{number:g}")
