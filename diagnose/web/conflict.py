"""A form that was drawn before the visit went on elsewhere: what it said, and what came since, side by side."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Role
from diagnose.session.closing import ENDS
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Close,
    Complain,
    Conclude,
    Event,
    Noted,
    Pictured,
    Proved,
    Reopen,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.session.wording import answer_says, ask_text, ending_says
from diagnose.web.visits import Opened
from diagnose.words import say

_STEPS: Mapping[type[Event], str] = {
    Back: "back",
    Conclude: "concluded",
    AskOn: "asked_more",
    AnotherFault: "another_fault",
    TakeOver: "taken_over",
    Reopen: "reopened",
    Noted: "noted",
    Pictured: "pictured",
}


@dataclass(frozen=True, slots=True)
class Conflict:
    """`mine` was not saved, `theirs` was. `check` is the question mine belonged to, `answered` its answer now."""

    mine: str
    theirs: tuple[str, ...]
    check: str
    answered: str


def conflict_of(
    kb: KnowledgeBase, opened: Opened, since: int, event: Event | None, form: Mapping[str, str]
) -> Conflict:
    """Both sides. `event` None: what the form said cannot be read as a step any more."""
    role, check = opened.session.setup.role, kb.checks.get(form.get("check", ""))
    typed = form.get("answer", "")
    read = say("present.answered", asked=ask_text(check, role), said=typed) if check else say("web.step_lost")
    theirs = opened.found.events[since:] if 0 <= since <= opened.number else ()
    answer = opened.session.answer(check.id) if check else None
    return Conflict(
        step_says(kb, event, role) if event else read,
        tuple(step_says(kb, e, role) for e in theirs),
        check.id if check else "",
        answer_says(check, answer, role) if check and answer else "",
    )


def step_says(kb: KnowledgeBase, event: Event, role: Role) -> str:
    """An event in words."""
    match event:
        case Reply(check=name) if name in kb.checks:
            check = kb.checks[name]
            said = answer_says(check, Answer(name, event.value, event.sure, note=event.note), role)
            return say("present.answered", asked=ask_text(check, role), said=said)
        case Complain(complaint=name) if name in kb.complaints:
            return say("web.step_complaint", complaint=kb.complaints[name].says)
        case Repaired(cause=name) if name in kb.causes:
            return say("web.step_repaired", cause=kb.causes[name].says)
        case Proved():
            return say("web.step_passed") if event.passed else say("web.step_failed")
        case Ticked(item=name) if name in kb.proofs:
            return say("present.answered", asked=kb.proofs[name].says, said=say(f"present.ticked_{event.result}"))
        case Close(outcome=outcome) if outcome in ENDS:
            return ending_says(outcome)
        case _:
            return say(f"web.step_{_STEPS.get(type(event), 'other')}")
