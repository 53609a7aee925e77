"""What was asked and what was answered, in the words of the role."""

from diagnose.calc.units import format_reading
from diagnose.model.knowledge import Check
from diagnose.model.visit import NO_ANSWER, Answer, Role
from diagnose.session.parse import options_of

_NO_ANSWER = dict(zip(NO_ANSWER, ("not known", "could not be checked", "skipped"), strict=True))


def ask_text(check: Check, role: Role) -> str:
    """The question in the words of the role."""
    return check.ask_caller if role == "help_desk" and check.ask_caller != "never" else check.ask


def answer_says(check: Check, answer: Answer, role: Role) -> str:
    """An answer in the words of the role: the option's text, a reading with its unit, or that there was none."""
    if not answer.says_something:
        return _NO_ANSWER[str(answer.value)]
    if isinstance(answer.value, str):
        said = options_of(check, role == "help_desk").get(answer.value, answer.value)
    else:
        said = format_reading(answer.value, check.unit)
    return said if answer.sure else f"{said} (not sure)"
