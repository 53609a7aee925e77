"""The transition function: any sequence of events, refused events, answers that no longer count."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from diagnose.errors import SessionError
from diagnose.model.visit import NO_ANSWER, Answer, Setup, Value
from diagnose.session.events import AskOn, Back, Begin, Complain, Conclude, Event, Reply
from diagnose.session.plain import as_plain
from diagnose.session.session import conclude, replay, salvage, step
from diagnose.session.state import Session
from tests.build import check, kinds, knowledge
from tests.shipped import begun, dependent_check, reasoner

VOLTS = check("volts", (), {}, kind="quantity", options={}, unit="V", hard=(0.0, 60.0))
LAMP = check("lamp", ("steady", "dark"), {"dark": 0.1})
DOOR = check("door", (), {}, kind="yes_no", options={})
KB = replace(knowledge(checks=[LAMP, VOLTS, DOOR], complaints=["stuck", "ghost"]), kinds=kinds(laser="laser"))
ALLOWED: dict[str, st.SearchStrategy[Value]] = {
    "lamp": st.sampled_from(["steady", "dark", *NO_ANSWER]),
    "volts": st.floats(0, 60) | st.sampled_from(NO_ANSWER),
    "door": st.sampled_from(["yes", "no", *NO_ANSWER]),
}
REPLIES = st.sampled_from(sorted(ALLOWED)).flatmap(
    lambda c: st.builds(Reply, st.just(c), ALLOWED[c], st.booleans(), note=st.just("so"))
)
REFUSED: tuple[Event, ...] = (
    Begin(Setup(), "stuck"),
    Reply("lamp", "green"),
    Reply("lamp", 3.0),
    Reply("lamp", "something_else"),
    Reply("lamp", "something_else", note=" "),
    Reply("nothing", "steady"),
    Reply("volts", 61.0),
    Reply("volts", float("nan")),
    Reply("volts", "much"),
    Reply("door", "maybe"),
    Complain("nothing"),
)


class Visits(RuleBasedStateMachine):
    """Beside the session: the answers as an ordered dict, kept by the plainest means."""

    @initialize()
    def begin(self) -> None:
        self.events: list[Event] = [Begin(Setup(), "stuck", "it hangs")]
        self.session = step(KB, None, self.events[0])
        self.answers: dict[str, Answer] = {}

    def send(self, event: Event) -> None:
        self.session = step(KB, self.session, event)
        self.events.append(event)

    @rule(reply=REPLIES)
    def answer_or_change(self, reply: Reply) -> None:
        self.send(reply)
        before = self.answers.pop(reply.check, None)  # the newest word on a check comes last
        again = before is not None and before.value == reply.value
        self.answers[reply.check] = Answer(reply.check, reply.value, reply.sure, "technician", "so", confirmed=again)

    @precondition(lambda self: self.answers)
    @rule()
    def back(self) -> None:
        self.send(Back())
        self.answers.popitem()
        assert not self.session.concluded

    @precondition(lambda self: not self.answers)
    @rule()
    def back_without_answers(self) -> None:
        with pytest.raises(SessionError):
            step(KB, self.session, Back())

    @rule(complaint=st.sampled_from(["stuck", "ghost"]))
    def complain(self, complaint: str) -> None:
        self.send(Complain(complaint))
        assert self.session.complaint == complaint
        assert not self.session.concluded

    @rule()
    def conclude(self) -> None:
        self.send(Conclude())
        assert (self.session.concluded, self.session.insist) == (True, False)

    @precondition(lambda self: "lamp" not in self.answers)  # the only check that weighs causes
    @rule()
    def ask_on(self) -> None:
        self.send(AskOn())
        assert (self.session.concluded, self.session.insist) == (False, True)

    @precondition(lambda self: "lamp" in self.answers)
    @rule()
    def ask_on_with_nothing_left(self) -> None:
        with pytest.raises(SessionError, match="no check is left"):
            step(KB, self.session, AskOn())

    @rule(event=st.sampled_from(REFUSED))
    def refused(self, event: Event) -> None:
        before = self.session
        with pytest.raises(SessionError):
            step(KB, self.session, event)
        assert self.session == before

    @invariant()
    def replaying_gives_the_same_session(self) -> None:
        assert replay(KB, self.events) == self.session
        assert salvage(KB, self.events) == (self.session, ())

    @invariant()
    def answers_are_the_ones_given(self) -> None:
        assert self.session.answers == tuple(self.answers.values())


TestVisits = Visits.TestCase
TestVisits.settings = settings(max_examples=60, stateful_step_count=20, deadline=None)


@pytest.mark.parametrize("event", [Reply("lamp", "dark"), Back(), Conclude(), AskOn(), Complain("stuck")], ids=repr)
def test_nothing_happens_before_the_beginning(event: Event) -> None:
    with pytest.raises(SessionError, match="has not begun"):
        step(KB, None, event)


@pytest.mark.parametrize("begin", [Begin(Setup(), "nothing"), Begin(Setup(devices=("sonar",)), "stuck")])
def test_a_visit_begins_with_known_things(begin: Begin) -> None:
    with pytest.raises(SessionError, match="known: "):
        step(KB, None, begin)


def test_a_visit_without_events_is_no_visit() -> None:
    for fold in (replay, salvage):
        with pytest.raises(SessionError, match="no events"):
            fold(KB, [])


def changed(**more: Any) -> Session:
    return replace(step(KB, None, Begin(Setup(), "stuck")), **more)


def test_a_change_comes_last_and_reopens_the_visit() -> None:
    first, second = Reply("lamp", "dark"), Reply("volts", 24.0)
    session = replay(KB, [Begin(Setup(), "stuck"), first, second, Conclude(), Reply("lamp", "steady")])
    assert session == changed(
        answers=(Answer("volts", 24.0, by="technician"), Answer("lamp", "steady", by="technician"))
    )


def numbers(*events: Event) -> dict[str, int]:
    session = replay(KB, [Begin(Setup(), "stuck"), *events])
    return {a.check: session.number(a.check) for a in session.given}


def test_an_answer_keeps_its_number_however_often_it_is_given() -> None:
    lamp, volts, door = Reply("lamp", "dark"), Reply("volts", 24.0), Reply("door", "yes")
    assert numbers(lamp, volts, Reply("lamp", "steady"), door) == {"lamp": 1, "volts": 2, "door": 3}
    assert numbers(lamp, volts, lamp, Back(), door) == {"volts": 2, "door": 3}
    assert numbers(lamp, volts, lamp, Back(), door, lamp) == {"lamp": 1, "volts": 2, "door": 3}
    assert numbers(lamp, volts, Back(), door) == {"lamp": 1, "door": 2}


def test_a_number_belongs_to_the_answer_that_holds() -> None:
    answers = Reply("lamp", "dark"), Reply("volts", 24.0), Reply("lamp", "steady")
    events: list[Event] = [Begin(Setup(), "stuck"), *answers]
    session = replay(KB, events)
    found = [session.answer_at(n) for n in range(4)]
    assert [a and a.value for a in found] == [None, "steady", 24.0, None]
    assert replay(KB, [*events, Back()]).answer_at(1) is None


def test_salvage_leaves_out_what_other_knowledge_had_and_says_so() -> None:
    gone, unusable = Reply("gone", "x"), Reply("lamp", "green")
    events: list[Event] = [Begin(Setup(), "stuck"), Reply("volts", 24.0), gone, unusable, Complain("gone")]
    session, told = salvage(KB, events)
    assert session == changed(answers=(Answer("volts", 24.0, by="technician"),))
    assert [says.split()[0:5] for says in told] == [
        ["Left", "out:", "unknown", "complaint", "'gone';"],
        ["Left", "out:", "there", "is", "no"],
        ["Left", "out:", "lamp:", "'green'", "is"],
    ]


def test_salvage_takes_back_what_was_taken_back_then() -> None:
    events: list[Event] = [Begin(Setup(), "stuck"), Reply("volts", 24.0), Reply("gone", "x"), Back()]
    assert salvage(KB, events) == (changed(answers=(Answer("volts", 24.0, by="technician"),)), ())


def test_salvage_needs_a_usable_beginning() -> None:
    with pytest.raises(SessionError, match="unknown complaint"):
        salvage(KB, [Begin(Setup(), "gone")])


def test_an_answer_whose_condition_went_away_counts_for_nothing_and_is_named() -> None:
    dependent, condition, opens, shuts = dependent_check()
    kb = reasoner().kb
    value = list(kb.checks[dependent].options)[-1]
    session = begun()
    for event in (Reply(condition, opens), Reply(dependent, value)):
        session = step(kb, session, event)
    assert conclude(reasoner(), session).stale == ()
    session = step(kb, session, Reply(condition, shuts))
    conclusion = conclude(reasoner(), session)
    assert conclusion.stale == (dependent,)
    assert as_plain(reasoner(), session, conclusion)["not_counted"] == [dependent]
    assert dependent not in {o.finding for o in conclusion.observations}
    without = step(kb, begun(), Reply(condition, shuts))
    assert conclusion.belief.ranked() == conclude(reasoner(), without).belief.ranked()
    session = step(kb, session, Reply(condition, opens))
    assert conclude(reasoner(), session).stale == ()
