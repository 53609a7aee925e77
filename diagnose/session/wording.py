"""What was asked and what was answered, in the words of the role."""

from diagnose.calc.units import format_reading
from diagnose.model.knowledge import Check
from diagnose.model.visit import NO_ANSWER, Answer, Role
from diagnose.session.parse import options_of
from diagnose.session.refusals import in_full

_NO_ANSWER = dict(zip(NO_ANSWER, ("not known", "could not be checked", "skipped"), strict=True))

WHO = {"caller": "anybody", "technician": "technician", "electrician": "licensed electrician"}
DONE_BY = {"technician": "Done by a technician on site"}  # where it was not whoever has the visit
WHY_WORDS = {
    "stop_work": "The gate must be safe before anything else.",
    "opening": "Asked on every visit.",
    "needed": "Needed so that the next reading can be judged.",
    "pays": "The check that saves most time for its minutes.",
    "tells": "No check pays for itself yet; this one tells most for its minutes.",
    "insisted": "You want to go on: this one tells most for its minutes.",
    "likely": "The leading cause is likely enough to act on.",
    "not_worth_it": "No further check is worth its minutes.",
    "nothing_left": in_full("nothing_left"),
}
UNFITTING = (
    "These answers do not fit together well; what follows from them is less sure than it looks. "
    "Most surprising, check them again:"
)
ENDINGS = {
    "in_service": "Back in service.",
    "left_out": "LEFT OUT OF SERVICE.",
    "solved_on_phone": "Solved on the phone.",
    "dispatched": "Somebody is sent.",
}
PLACES = {
    "technician": "at the gate",
    "electrician": "at the gate, and licensed for mains work",
    "help_desk": "on the phone with a caller",
}


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


def origin_says(answer: Answer, role: Role) -> str:
    """Who gave an answer when that was not the present role, and what it replaced; '' with nothing to tell."""
    by_another = bool(answer.by) and answer.from_caller != (role == "help_desk")
    told = [answer.by] if by_another else []
    if answer.replaced:
        told.append(f"replaces: {answer.replaced}")
    return "; ".join(told)
