"""A whole visit in a second language: typed in its words, and nothing plain left on the screen."""

import io
from collections.abc import Sequence
from typing import Literal

import pytest

from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event
from diagnose.session.parse import spoken_for
from diagnose.session.session import step
from diagnose.session.state import Session
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.begin import ask_begin
from diagnose.terminal.commands import AFTER, COMMANDS, word
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from tests.terminal.typed import Typed
from tests.words.pseudo import plain_words

EVERY = [c for c in COMMANDS if c not in ("back", "change", "conclude", "leave")]


def visit(kb: KnowledgeBase, session: Session, lines: Sequence[str]) -> tuple[Session, str]:
    out, saved = io.StringIO(), list[Event]()
    ended = Visit(Reasoner(kb), session, Screen(out, 80, plain=True), Typed(*lines), saved.append).run()
    return ended, out.getvalue()


def begun(kb: KnowledgeBase, setup: Setup, complaint: str = "ghost_opening") -> Session:
    return step(kb, None, Begin(setup, complaint))


def test_the_opening_questions(pseudo_kb: KnowledgeBase) -> None:
    out = io.StringIO()
    lines = (word("help"), "9", "1", word("back"), "1", "77", "1 3", "zzzz", "1")
    asker = Asker(Screen(out, 80, plain=True), Typed(*lines))
    with pytest.raises(Leave):
        ask_begin(pseudo_kb, Begin(Setup(), ""), (), Asker(asker.screen, Typed()))
    begin = ask_begin(pseudo_kb, Begin(Setup(), ""), (), asker)
    assert begin.complaint and begin.setup.devices
    assert plain_words(out.getvalue()) == []


@pytest.mark.parametrize("role", ["technician", "help_desk"])
def test_every_command_of_a_visit_and_of_its_conclusion(pseudo_kb: KnowledgeBase, role: str) -> None:
    setup = Setup("help_desk" if role == "help_desk" else "technician", profile={"lamp.power": "7"})
    asked = [word("help"), word("help"), *(word(c) for c in EVERY), "zebra", word("repaired"), "1?"]
    ends = [word(c) for c in (*AFTER[:1], "sheet", "help", *EVERY)]
    after = [f"{word('remedy')} 2", f"{word('change')} 1", "", *ends]
    _, text = visit(pseudo_kb, begun(pseudo_kb, setup), [*asked * 9, word("conclude"), *after, word("leave")])
    assert [w for w in plain_words(text) if w not in KEPT] == []


KEPT = ("zebra", "diagnose", "resume")


def test_a_repair_its_proof_and_the_return_to_service(pseudo_kb: KnowledgeBase) -> None:
    yes, passed = spoken_for("session.words_yes")[0], spoken_for("terminal.words_pass")[0]
    mended = [word("repaired"), "1", "7", word("help"), yes, "7", spoken_for("session.words_no")[0]]
    lines = ["2", "2", *["?"] * 3, word("conclude"), *mended, word("close"), "1", *[f"{passed} 7"] * 30]
    ended, text = visit(pseudo_kb, begun(pseudo_kb, Setup(electrician=True)), lines)
    assert ended.outcome == "in_service" and ended.ticks
    assert plain_words(text) == []


@pytest.mark.parametrize(("number", "outcome"), [(2, "left_out"), (2, "dispatched")])
def test_other_ends(pseudo_kb: KnowledgeBase, number: int, outcome: str) -> None:
    role: Literal["help_desk", "technician"] = "help_desk" if outcome == "dispatched" else "technician"
    lines = ["2", "3", word("conclude"), word("close"), "", word("close"), str(number), "7", "7", "7"]
    ended, text = visit(pseudo_kb, begun(pseudo_kb, Setup(role)), lines)
    assert ended.outcome == outcome
    assert plain_words(text) == []
