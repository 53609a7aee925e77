"""What a form said -> an event of the session core. Nothing here knows about requests or files."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from diagnose.errors import AnswerError, SessionError
from diagnose.model.gear import Gear
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import NO_ANSWER, SOMETHING_ELSE
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Close,
    Complain,
    Conclude,
    Event,
    Named,
    Noted,
    Pictured,
    Proved,
    Reopen,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.session.gear_words import read_gear
from diagnose.session.law import refusal
from diagnose.session.parse import parse_answer
from diagnose.session.regear import keeping_papers, left_over
from diagnose.session.state import Session
from diagnose.words import say

BECAME = "became_"  # and a device's former key: the field that says its key now
LONGEST = 600  # characters of one field
Form = Mapping[str, str]


class SentAgain(Exception):
    """The answer has to be given again: `says` why, `typed` what was there, `doubt` when it may be kept."""

    def __init__(self, check: str, says: str, typed: str, unsure: bool, doubt: bool = False) -> None:
        super().__init__(says)
        self.check, self.says, self.typed, self.unsure, self.doubt = check, says, typed, unsure, doubt


class WhichDevice(Exception):
    """The devices were named; it has to be said what became of `keys`, '' being 'the sensor', among them."""

    def __init__(self, typed: str, keys: tuple[str, ...], named: Gear) -> None:
        super().__init__()
        self.typed, self.keys, self.named = typed, keys, named


def number_of(form: Form) -> int:
    """How many steps there were when the form was drawn; -1 where it does not say."""
    typed = form.get("n", "")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else -1


@dataclass(frozen=True, slots=True)
class _Sent:
    kb: KnowledgeBase
    session: Session
    form: Form

    def text(self, name: str) -> str:
        """One field. Raises SessionError where it is longer than any answer."""
        value = self.form.get(name, "").strip()
        if len(value) > LONGEST:
            raise SessionError(say("web.too_long", most=LONGEST))
        return value


def event_of(kb: KnowledgeBase, session: Session, form: Form) -> Event:
    """Raises Again at an answer that cannot be read, SessionError at anything else that is not allowed."""
    make = _EVENTS.get(form.get("do", ""))
    if make is None:
        raise SessionError(say("web.no_step"))
    return make(_Sent(kb, session, form))


def check_named(kb: KnowledgeBase, form: Form) -> Check:
    """The check a form is about. Raises SessionError."""
    name = form.get("check", "")
    if name not in kb.checks:
        raise SessionError(say("session.no_check", name=repr(name[:40])))
    return kb.checks[name]


def _reply(sent: _Sent) -> Event:
    check = check_named(sent.kb, sent.form)
    if sent.form.get("confirm"):
        return _confirmed(sent, check)
    typed, unsure = sent.text("answer"), bool(sent.form.get("unsure"))
    if typed == SOMETHING_ELSE:
        return Reply(check.id, SOMETHING_ELSE, note=sent.text("words"))
    try:
        parsed = parse_answer(check, typed)
    except AnswerError as error:
        raise SentAgain(check.id, str(error), typed, unsure) from error
    if parsed.doubt and sent.form.get("keep") != typed:
        raise SentAgain(check.id, parsed.doubt, typed, unsure, doubt=True)
    reply = parsed.reply(check.id)
    return replace(reply, sure=reply.sure and not (unsure and parsed.value not in NO_ANSWER))


def _confirmed(sent: _Sent, check: Check) -> Event:
    """Whoever took the visit over has looked and found the same."""
    answer = sent.session.answer(check.id)
    if answer is None:
        raise SessionError(say("web.nothing_to_confirm"))
    return Reply(check.id, answer.value, note=answer.told[1])


def _repaired(sent: _Sent) -> Event:
    cause = sent.kb.causes.get(sent.form.get("cause", ""))
    if cause is None:
        raise SessionError(say("web.choose_remedy"))
    by = sent.text("by")
    return Repaired(cause.id, sent.text("note"), by, sent.text("name") if by else "")


def _proved(sent: _Sent) -> Event:
    if sent.form.get("passed") not in ("yes", "no"):
        raise SessionError(say("web.say_passed"))
    return Proved(sent.form["passed"] == "yes", sent.text("reading"))


def _named(sent: _Sent) -> Event:
    """The devices by name, and what those are called now that were answered about. Raises WhichDevice."""
    typed = sent.text("gear")
    try:
        gear = read_gear(sent.kb, typed)
    except AnswerError as error:
        raise SessionError(str(error)) from error
    told = {name.removeprefix(BECAME): key for name, key in sent.form.items() if name.startswith(BECAME)}
    event = Named(keeping_papers(gear, sent.session.setup.gear), {k: v for k, v in told.items() if v})
    if no := refusal(sent.kb, sent.session, event):
        raise SessionError(no.says)
    if open_ := tuple(key for key in left_over(sent.kb, sent.session, event) if key not in told):
        raise WhichDevice(typed, open_, gear)
    return event


def pictured(form: Form, name: str) -> Pictured:
    """A picture that was sent and is called `name`. Raises SessionError where the words to it are too many."""
    if len(says := form.get("says", "").strip()) > LONGEST:
        raise SessionError(say("web.too_long", most=LONGEST))
    return Pictured(name, form.get("of", ""), form.get("which", ""), says)


def _close(sent: _Sent) -> Event:
    said = {name: sent.text(name) for name in ("reason", "by", "to", "due", "meanwhile")}
    return Close(sent.form.get("outcome", ""), **said)


def _take_over(sent: _Sent) -> Event:
    """A technician goes on with the visit on this machine."""
    if not (name := sent.text("by")):
        raise SessionError(say("web.takes_over_name"))
    licensed = bool(sent.form.get("electrician"))
    return TakeOver(replace(sent.session.setup, role="technician", electrician=licensed, tools=None), name)


_EVENTS: Mapping[str, Callable[[_Sent], Event]] = {
    "reply": _reply,
    "back": lambda _: Back(),
    "complain": lambda sent: Complain(sent.form.get("complaint", "")),
    "conclude": lambda _: Conclude(),
    "ask_on": lambda _: AskOn(),
    "repaired": _repaired,
    "proved": _proved,
    "another_fault": lambda _: AnotherFault(),
    "ticked": lambda sent: Ticked(sent.form.get("item", ""), sent.form.get("result", ""), sent.text("reading")),
    "named": _named,
    "close": _close,
    "reopen": lambda _: Reopen(),
    "noted": lambda sent: Noted(sent.text("text"), sent.form.get("kind", "remark")),
    "take_over": _take_over,
}
