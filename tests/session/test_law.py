"""The law of a visit: its table is whole, no way through a visit breaks a rule of safety, old files stay readable."""

from dataclasses import dataclass, field, replace
from functools import partial
from itertools import product
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from diagnose.core.rules import fixpoint
from diagnose.errors import SessionError
from diagnose.model.knowledge import CallerRemedy, KnowledgeBase
from diagnose.model.visit import NO_ANSWER, Setup
from diagnose.session import events as e
from diagnose.session.closing import ENDS
from diagnose.session.grounds import GROUNDS
from diagnose.session.law import (
    ASKED,
    ENDING,
    LAW,
    barred_now,
    doers,
    due,
    endings,
    may_follow,
    needed,
    place_of,
    refusal,
)
from diagnose.session.photos import OF
from diagnose.session.session import conclude, replay, salvage, step
from diagnose.session.state import Repair, Session
from diagnose.words import say, spoken
from tests.build import ALWAYS, BRIDGES, COVERS, cause, check, knowledge, proofs
from tests.build import rule as kb_rule
from tests.remembering import Remembering
from tests.shipped import begun
from tests.shipped import knowledge as shipped

NO = ("no", "yes")
CALL, LICENSED, UNLICENSED = Setup("help_desk"), Setup(electrician=True), Setup()
SETUPS = (CALL, LICENSED, UNLICENSED)
WHO_MAY = {"technician": 1, "electrician": 2, "caller": 0}


CALLER_DOES = CallerRemedy(steps=("wipe it",), minutes=3, proof="it shuts")


def small() -> KnowledgeBase:
    """One cause and one check for everybody, for a technician and for an electrician; a check that runs the gate, and
    a cause that a caller may do something about himself."""
    signs = {"free_look": {"yes": 0.9}, "box_look": {"yes": 0.5}, "mains": {"yes": 0.6}, "run": {"yes": 0.7}}
    causes = [
        cause("dirt", signs, who="caller"),
        cause("wire", {"box_look": {"yes": 0.9}, "gap": {"yes": 0.3}}, touches=("zone",)),
        cause("fuse", {"mains": {"yes": 0.9}}, who="electrician"),
        cause("web", {"free_look": {"yes": 0.4}}, touches=("zone",), caller=CALLER_DOES),
        cause("something_else", {"run": {"yes": 0.2}}),
    ]
    checks = [
        check("free_look", NO, {"yes": 0.05}, who="caller", ask_caller="look"),
        check("gap", NO, {"yes": 0.05}, who="caller", ask_caller="look"),
        check("run", NO, {"yes": 0.05}, who="caller", ask_caller="look", runs_gate=True),
        check("box_look", NO, {"yes": 0.05}, access="box"),
        check("mains", NO, {"yes": 0.05}, who="electrician"),
    ]
    lost = kb_rule("lost", {"gap": ["yes"]}, stop_work="stop")
    kb = knowledge(causes, checks, [lost], complaints=["stuck", "ghost"], access={"box": 1.0})
    made_safe = replace(kb.checks["made_safe"], who="caller", ask_caller="safe?")
    owed = proofs(zone={"protective": True}, protective_zone=ALWAYS, covers=COVERS, bridges=BRIDGES)
    return replace(kb, checks={**kb.checks, "made_safe": made_safe}, proofs=owed)


KB = small()
REASONER = Remembering(KB, partial(fixpoint, KB))
NAMED = ("", "caller", "technician", "electrician")
WORDS = st.sampled_from(["", "why"])
PICTURE = "0123456789abcdef.jpg"
WHILE_OWED = e.Proved | e.Back | e.Close | e.TakeOver | e.Reopen | e.Noted | e.Pictured
DAYS = st.sampled_from(["", "2026-12-03", "tomorrow"])
REPLIES = st.builds(
    e.Reply,
    st.sampled_from([c for c in KB.checks if c != "made_safe"]),
    st.sampled_from([*NO, *NO_ANSWER]),
    note=WORDS,
)
EVENTS: st.SearchStrategy[e.Event] = st.one_of(
    REPLIES,
    st.builds(e.Reply, st.just("made_safe"), st.sampled_from(["safe", "unsafe", *NO_ANSWER]), note=WORDS),
    st.builds(e.Repaired, st.sampled_from([*KB.causes]), WORDS, st.sampled_from(NAMED)),
    st.builds(e.Proved, st.booleans()),
    st.builds(e.Ticked, st.sampled_from([*KB.proofs]), st.sampled_from(["pass", "fail", "na"]), WORDS),
    st.builds(e.Close, st.sampled_from([*ENDING]), WORDS, WORDS, st.sampled_from(["", "maker"]), DAYS, WORDS),
    st.builds(e.Noted, WORDS, st.sampled_from(["remark", "correction", "gossip"])),
    st.builds(e.Pictured, st.just(PICTURE), st.sampled_from(OF), st.sampled_from(["", *KB.checks, *KB.causes])),
    st.builds(e.TakeOver, st.sampled_from(SETUPS)),
    st.builds(e.Complain, st.sampled_from(["stuck", "ghost", "gone"])),
    st.sampled_from([e.Back(), e.Back(), e.Conclude(), e.AskOn(), e.AnotherFault(), e.Reopen()]),
)


@dataclass
class FrontEnd:
    """The least that draws a visit: it sends whatever comes and holds no rule; what follows by itself it saves."""

    session: Session
    saved: list[e.Event] = field(default_factory=list)

    def send(self, event: e.Event) -> bool:
        try:
            self.session = step(KB, self.session, event)
        except SessionError as error:
            assert str(error)
            return False
        self.saved.append(event)
        for after in due(self.session, conclude(REASONER, self.session)):
            self.session = step(KB, self.session, after)
            self.saved.append(after)
        return True


class AnyVisit(RuleBasedStateMachine):
    """Whoever holds the visit is followed by the test itself, and the rules of safety are in its own words."""

    @initialize(setup=st.sampled_from(SETUPS))
    def begin(self, setup: Setup) -> None:
        self.opening = e.Begin(setup, "stuck")
        self.holder, self.front = setup, FrontEnd(step(KB, None, self.opening))

    @rule(event=EVENTS)
    def send(self, event: e.Event) -> None:
        before, owed = self.front.session, self.owed
        offered = may_follow(KB, before)[e.word_of(event)]
        if not self.front.send(event):
            assert self.front.session == before
            return
        assert not offered, "what may not follow, whatever it says, followed"
        assert not owed or isinstance(event, WHILE_OWED)
        self.judged(before, event)
        if isinstance(event, e.TakeOver):
            self.holder = event.setup

    @property
    def owed(self) -> bool:
        return any(r.proof == "pending" for r in self.front.session.repairs)

    @property
    def rank(self) -> int:
        return 0 if self.holder.role == "help_desk" else 2 if self.holder.electrician else 1

    def judged(self, before: Session, event: e.Event) -> None:
        match event:
            case e.Repaired():
                who = KB.causes[event.cause].remedy.who
                if event.by == "caller":
                    assert self.rank == 0 and event.cause == "web" and not stopped(before)
                    return
                assert who != "electrician" or self.rank == 2
                assert WHO_MAY[who] <= self.rank or event.by == "technician"
            case e.Reply() if event.value not in NO_ANSWER:
                assert event.check != "mains" or self.rank == 2
                assert event.check != "box_look" or self.rank > 0
                assert event.check != "run" or not stopped(before)
            case e.Close():
                self.ended(before, event)
            case e.Reopen() | e.TakeOver():
                after = self.front.session
                assert not after.outcome and (not before.outcome or not after.ticks)
                ended = [*before.earlier, *([before.end] if before.outcome else [])]
                assert [replace(x, ticks=()) for x in after.earlier] == [replace(x, ticks=()) for x in ended]
            case e.Ticked():
                assert self.rank > 0

    def ended(self, before: Session, event: e.Close) -> None:
        match event:
            case e.Close(outcome="in_service"):
                assert self.rank > 0 and self.all_proved(before)
            case e.Close(outcome="solved_on_phone" | "proof_owed"):
                assert self.rank == 0 and not stopped(before)
                assert any(r.proof == "passed" for r in before.repairs) and before.repairs[-1].proof != "pending"
                touched = any(KB.proofs[t].protective for r in before.repairs for t in touches(r))
                assert touched == (event.outcome == "proof_owed")
                assert not touched or (event.by and event.due == "2026-12-03" and event.meanwhile)
            case e.Close(outcome="nothing_wrong"):
                assert event.reason and not any(r.proof != "failed" for r in before.repairs)
                assert not stopped(before) or (self.rank > 0 and self.all_proved(before))
            case e.Close():
                assert event.reason and (event.outcome != "passed_on" or event.to == "maker")

    def all_proved(self, before: Session) -> bool:
        done = {t.item for t in before.ticks if t.result == "pass" or (t.result == "na" and t.reading)}
        due = {"protective_zone"} if before.repairs or stopped(before) else set()
        touched = {t for r in before.repairs for t in touches(r)}
        return (due | touched) <= done and not any(r.proof == "pending" for r in before.repairs)

    @invariant()
    def the_visit_is_its_holder_s(self) -> None:
        assert self.front.session.setup == self.holder

    @invariant()
    def what_is_proposed_may_be_answered(self) -> None:
        """Else a front end would ask for ever."""
        session = self.front.session
        following = conclude(REASONER, session).next.check
        assert place_of(session) != "open" or not following or not barred_now(KB, session, following)

    @invariant()
    def the_file_makes_the_same_visit_and_nothing_of_it_is_told(self) -> None:
        assert salvage(KB, [self.opening, *self.front.saved]) == (self.front.session, ())


def stopped(session: Session) -> bool:
    return any(a.check == "gap" and a.value == "yes" for a in every_answer(session))


def touches(repair: Repair) -> tuple[str, ...]:
    return KB.causes[repair.cause].remedy.touches


def every_answer(session: Session) -> tuple[Any, ...]:
    return (*session.given, *(a for t in session.attempts for a in (*t.carried, *t.answers)))


TestAnyVisit = AnyVisit.TestCase
TestAnyVisit.settings = settings(max_examples=250, stateful_step_count=25, deadline=None)


def test_the_table_is_whole() -> None:
    rows = LAW.values()
    assert set(LAW) == {*e.NAMES}
    named = {g for row in rows for g in (*row.visit, *row.event)} | {g for more in ENDING.values() for g in more}
    assert named == set(GROUNDS)
    assert set(ENDING) == set(ASKED) == {*ENDS}
    assert all(needed(end) <= {*ASKED[end]} for end in ENDING)
    keys = {k for row in rows for k in (row.before, row.open, row.owed, row.closed, *row.kept) if k}
    assert {f"session.{key}" for key in keys} <= set(spoken().texts)


@pytest.mark.parametrize("setup", [CALL, UNLICENSED], ids=["call", "unlicensed"])
def test_an_electrician_s_work_is_never_accepted_from_anybody_else(setup: Setup) -> None:
    """Every check and every remedy of the shipped knowledge, whoever is named."""
    kb, session = shipped(), begun(setup=setup)
    checks = [c for c in kb.checks.values() if c.who == "electrician"]
    assert "ctl_output_volts" in {c.id for c in checks}
    assert all(barred_now(kb, session, c.id) for c in checks)
    causes = [c.id for c in kb.causes.values() if c.remedy.who == "electrician"]
    others = [by for by in NAMED if by != "caller"]
    assert causes and all(refusal(kb, session, e.Repaired(c, by=by)) for c, by in product(causes, others))
    for_caller = {c for c in causes if setup is CALL and kb.causes[c].caller}
    theirs = {"mains_lost", "fed_from_switched_circuit", "led_driver_noise"}  # a user's own switch, or a dry plug
    assert for_caller == (theirs if setup is CALL else set())
    assert all(doers(kb, session, c) == (("caller",) if c in for_caller else ()) for c in causes)
    assert all(doers(kb, begun(setup=LICENSED), c) == ("",) for c in causes)


def visit(*events: e.Event, setup: Setup = UNLICENSED) -> Session:
    return replay(KB, [e.Begin(setup, "stuck"), *events])


def test_a_caller_carries_out_a_caller_s_remedy_and_names_the_technician_for_any_other() -> None:
    call = visit(setup=CALL)
    assert [doers(KB, call, c) for c in ("dirt", "wire", "fuse")] == [("", "technician"), ("technician",), ()]
    assert visit(e.Repaired("wire", by="technician"), setup=CALL).repairs[-1].by == "technician"


def test_going_back_over_a_hand_over_gives_nobody_another_s_licence() -> None:
    session = visit(e.Repaired("fuse"), e.TakeOver(UNLICENSED), e.Back(), setup=LICENSED)
    assert session.setup == UNLICENSED
    assert refusal(KB, session, e.Repaired("fuse"))


def test_an_order_keeps_the_gate_still_after_a_repair_that_failed() -> None:
    """What runs the gate was taken although nothing had been mended."""
    failed = visit(e.Reply("gap", "yes"), e.Repaired("wire"), e.Proved(False))
    assert barred_now(KB, failed, "run")
    mended = visit(e.Reply("gap", "yes"), e.Repaired("wire"), e.Proved(True), e.AnotherFault())
    assert not barred_now(KB, mended, "run")


def test_while_a_proof_is_owed_the_gate_can_still_be_left_and_the_visit_handed_over() -> None:
    session = visit(e.Repaired("wire"))
    open_words = {word for word, why in may_follow(KB, session).items() if not why}
    assert open_words == {"proved", "back", "close", "take_over", "named", "noted", "pictured"}
    assert {end for end, why in endings(KB, session).items() if not why} == {"left_out", "dispatched", "passed_on"}
    assert step(KB, session, e.Close("left_out", "no part")).pending


OLD: tuple[e.Event, ...] = (  # as the former version let pass
    e.Begin(UNLICENSED, "stuck"), e.Reply("mains", "yes"), e.Reply("gap", "yes"), e.Reply("run", "yes"),
    e.Repaired("fuse"), e.Reply("box_look", "no"), e.Complain("ghost"), e.Conclude(), e.AskOn(), e.Proved(True),
)  # fmt: skip


def test_a_visit_of_the_former_version_loses_nothing_that_happened_and_says_what_would_be_refused() -> None:
    session, told = salvage(KB, OLD)
    assert [a.check for a in session.answers] == ["mains", "gap", "run", "box_look"]
    assert (session.complaint, [(r.cause, r.proof) for r in session.repairs]) == ("ghost", [("fuse", "passed")])
    kept, left_out = [[t for t in told if t.startswith(begins)] for begins in ("Kept", "Left out")]
    assert (len(kept), len(left_out), len(told)) == (5, 2, 7)
    assert all("not been proved yet" in says for says in left_out)
    assert conclude(REASONER, session).stands == ("stop",)


def test_what_was_taken_back_is_not_told_of() -> None:
    assert salvage(KB, (*OLD[:2], e.Back())) == (visit(), ())


def test_a_tick_of_a_caller_is_left_out_of_an_old_visit_so_that_the_line_is_proved() -> None:
    session, told = salvage(KB, (e.Begin(CALL, "stuck"), e.Ticked("zone", "pass", "seen"), e.TakeOver(UNLICENSED)))
    assert not session.ticks and "only somebody at the gate" in told[0]


def test_the_conclusion_follows_by_itself_where_nothing_more_would_be_asked() -> None:
    front = FrontEnd(visit())
    for name in KB.checks:
        front.send(e.Reply(name, "skip"))
    assert front.saved[-1] == e.Conclude() and front.session.concluded
    assert may_follow(KB, front.session)["ask_on"] == say("session.nothing_left")
