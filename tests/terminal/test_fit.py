"""What people are told when the answers of a visit do not fit together."""

import io

from diagnose.core.reason import Reasoner
from diagnose.model.visit import Answer, Setup
from diagnose.present.notices import doubts_of
from diagnose.session.events import Begin, Reply
from diagnose.session.session import step
from diagnose.session.state import Session
from diagnose.terminal.draw import draw_doubt
from diagnose.terminal.screen import Screen
from tests.build import cause, check, knowledge

LOOKS = ("a", "b", "c")


def told(reasoner: Reasoner, replies: dict[str, str]) -> str:
    session: Session = step(reasoner.kb, None, Begin(Setup(), "stuck"))
    for name, value in replies.items():
        session = step(reasoner.kb, session, Reply(name, value))
    out = io.StringIO()
    conclusion = reasoner.conclude(Setup(), "stuck", [Answer(n, v) for n, v in replies.items()])
    for doubt in doubts_of(reasoner.kb, session, conclusion):
        draw_doubt(Screen(out, 80), doubt)
    return out.getvalue()


def reasoner() -> Reasoner:
    """One cause shows in three looks, the other in a fourth."""
    causes = [
        cause("one", {n: {"yes": 0.95} for n in LOOKS}, complaints={"stuck": "typical"}),
        cause("other", {"d": {"yes": 0.9}}, complaints={"stuck": "typical"}),
    ]
    checks = [check(n, ("no", "yes"), {"yes": 0.02}) for n in (*LOOKS, "d")]
    return Reasoner(knowledge(causes, checks, complaints=["stuck"], two_fault_odds=1e-9))


def test_fitting_answers_are_not_remarked_on() -> None:
    assert told(reasoner(), dict.fromkeys(LOOKS, "yes")) == ""


def test_a_contradiction_names_answers_and_how_to_change_them() -> None:
    says = told(reasoner(), {"a": "yes", "b": "yes", "c": "no", "d": "yes"})
    assert "do not fit together" in says
    assert "(change 4)" in says or "(change 3)" in says
    assert len(says.splitlines()) == 6
