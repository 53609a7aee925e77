"""The browser and the terminal send the same events: equal sessions after every step."""

from collections.abc import Iterator
from dataclasses import replace
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from diagnose.core.reason import Conclusion
from diagnose.errors import SessionError
from diagnose.kb.files import shipped_folder
from diagnose.model.visit import NO_ANSWER, SOMETHING_ELSE
from diagnose.session.checklist import checklist
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Begin,
    Close,
    Complain,
    Conclude,
    Event,
    Noted,
    Proved,
    Reopen,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.session.law import due
from diagnose.session.parse import options_of
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.store.scripts import load_script
from diagnose.terminal.replay import script_events
from diagnose.web.visits import Visits
from tests.shipped import knowledge, quick
from tests.web.tab import Tab, events_in, session_in, tab

QUICK = ("two_faults", "call_solved_on_the_phone", "stop_work_left_out", "edited_answers_loop", "ghost_in_rain")
SCRIPTS = [
    pytest.param(path, id=path.stem, marks=[] if path.stem in QUICK else [pytest.mark.long])
    for path in sorted(shipped_folder("transcripts_demo").glob("*.yaml"))
    if not load_script(path).taken_over  # the hand-over is tested with the files that are handed over
]


def take_heard(shown: Tab, event: Reply) -> None:
    shown.open(f"/visit/{shown.address.split('/')[2]}/heard")
    take = next(f for f in shown.forms() if f.fields.get("do") == "take")
    shown.send(take, take=f"{event.check}={event.value}")


def sent(shown: Tab, event: Event) -> None:
    """The form of the shown page that says this event, with what a person would put into it."""
    match event:
        case Reply() if event.heard:
            take_heard(shown, event)
        case Reply():
            typed = event.value if isinstance(event.value, str) else repr(event.value)
            unsure = {} if event.sure else {"unsure": "1"}
            form = next(f for f in shown.forms() if "n" in f.fields and f.action.count("/") == 2)
            shown.send(form, do="reply", check=event.check, answer=typed, keep=typed, words=event.note, **unsure)
        case Complain():
            shown.open(f"{shown.address}/complaint").do("complain", complaint=event.complaint)
        case Repaired():
            shown.do("repaired", cause=event.cause, note=event.note, by=event.by)
        case Proved():
            shown.do("proved", passed="yes" if event.passed else "no", reading=event.reading)
        case Ticked():
            form = next(f for f in shown.forms() if f.fields.get("item") == event.item)
            shown.send(form, result=event.result, reading=event.reading)
        case Close():
            form = next(f for f in shown.forms() if f.fields.get("outcome") == event.outcome)
            said = {"reason": event.reason, "by": event.by, "to": event.to, "due": event.due}
            shown.send(form, meanwhile=event.meanwhile, **said)
        case Noted():
            shown.do("noted", text=event.text, kind=event.kind)
        case TakeOver():
            shown.do("take_over", by=event.by, **({"electrician": "1"} if event.setup.electrician else {}))
        case _:
            names = {
                Back: "back",
                Conclude: "conclude",
                AskOn: "ask_on",
                AnotherFault: "another_fault",
                Reopen: "reopen",
            }
            shown.do(names[type(event)])


def direct(session: Session, event: Event) -> Session:
    """The session core alone, with what its law says follows by itself."""
    following = step(knowledge(), session, event)
    for noted in due(following, conclude(quick(), following)):
        following = step(knowledge(), following, noted)
    return following


def possible(session: Session, conclusion: Conclusion) -> Iterator[Event]:
    """Everything a person could do now, by the session core's own rules and not by what a page offers."""
    kb = knowledge()
    if session.outcome:
        there = replace(session.setup, role="technician", electrician=True, tools=None)
        yield from (Back(), Reopen(), Noted("lost remotes", "remark"), TakeOver(there, "Ben"))
    elif session.pending:
        yield from (Proved(True, "seen to work"), Proved(False, ""), Back(), Close("left_out", "no part"))
    elif session.concluded:
        yield from (
            Repaired(c, "", by)
            for by in ("", "technician")
            for c, _ in conclusion.belief.ranked()[:3]
            if c != kb.settings.outside_cause
        )
        here = session.setup.role == "technician"
        lines = checklist(kb, session) if here else []
        yield from (Ticked(i.id, r, "12.1 V") for i in lines for r in ("pass", "fail", "na"))
        yield Close("left_out" if here else "dispatched", "no spare part", meanwhile="shut")
        yield Close("passed_on", "no start", to="maker")
        yield from (Noted("it was the left leaf", "correction"), TakeOver(session.setup, "Ben") if here else Back())
        wanted = (conclusion.next.check or conclusion.gains) and not session.mended
        yield from (AskOn() for _ in "x" if wanted)
        yield from (AnotherFault() for _ in "x" if session.mended)
    else:
        yield from replies(conclusion.next.check)
        yield from (replace(r, sure=False) for r in replies(conclusion.next.check) if r.value not in NO_ANSWER)
        yield from (r for a in session.answers[-1:] for r in replies(a.check))
        yield from (Conclude(), Complain("stuck_open"))
        yield from (Back() for _ in session.answers[:1])


def replies(name: str) -> Iterator[Reply]:
    check = knowledge().checks[name]
    low, high = check.plausible or check.hard or (0.0, 1.0)
    values = options_of(check) if check.kind != "quantity" else (low, (low + high) / 2, high)
    yield from (Reply(name, value) for value in (*values, *NO_ANSWER) if value != SOMETHING_ELSE)
    yield Reply(name, SOMETHING_ELSE, note="it hums")


@settings(max_examples=12, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(st.lists(st.integers(0, 999), min_size=8, max_size=14), st.sampled_from(["technician", "help_desk"]))
def test_any_way_through_a_visit_is_the_same_in_both(choices: list[int], role: str) -> None:
    with TemporaryDirectory() as name:
        shown = tab(Path(name)).begin(role=role)
        session = session_in(Path(name), shown.address)
        for number, choice in enumerate(choices):
            events = list(possible(session, conclude(quick(), session)))
            event = Conclude() if Conclude() in events and number > 4 else events[choice % len(events)]
            session = followed(shown, session, event)
            assert session_in(Path(name), shown.address) == session


def followed(shown: Tab, session: Session, event: Event) -> Session:
    """The session after the event by the core alone, once the page has taken it; what the core refuses the page
    refuses with the same words, or does not offer."""
    try:
        following = direct(session, event)
    except SessionError as error:
        if isinstance(event, Back) and not any(f.fields.get("do") == "back" for f in shown.forms()):
            return session
        sent(shown, event)
        assert shown.status == 422
        assert str(error)[:20] in unescape(shown.text)
        shown.open(f"/visit/{shown.address.split('/')[2]}")
        return session
    sent(shown, event)
    assert shown.status == 200, shown.text
    return following


@pytest.mark.parametrize("path", SCRIPTS)
def test_a_demo_visit_leaves_the_same_file(path: Path, tmp_path: Path) -> None:
    """The events that the terminal saves for a script, given in the browser, make the same file."""
    wanted = script_events(quick(), path)
    begin, shown = wanted[0], tab(tmp_path)
    assert isinstance(begin, Begin)
    name = Visits(quick(), tmp_path).begin(begin)
    shown.open(f"/visit/{name}")
    for number, event in enumerate(wanted[1:], start=1):
        if events_in(tmp_path, shown.address)[number:] == (event,) and event == Conclude():
            continue  # noted by itself, as in the terminal
        sent(shown, event)
        assert events_in(tmp_path, shown.address)[: number + 1] == tuple(wanted[: number + 1]), shown.text
    assert events_in(tmp_path, shown.address) == tuple(wanted)
