"""Says when the answers of a visit do not fit together, and which to check again."""

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.doubts import unfitting
from diagnose.session.state import Session
from diagnose.session.wording import UNFITTING, ask_text
from diagnose.terminal.screen import Screen


def draw_fit(screen: Screen, kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> None:
    """Nothing while the answers fit; else the most surprising ones, with how to change each."""
    numbers = {a.check: n for n, a in enumerate(session.given, start=1)}
    surprising = [d for d in unfitting(kb, conclusion) if d.check in numbers]
    if not surprising:
        return
    screen.hanging("CHECK  ", UNFITTING, "bold yellow")
    for doubt in surprising:
        question = ask_text(kb.checks[doubt.check], session.setup.role)
        screen.hanging(" - ", f"{question} ('change {numbers[doubt.check]}')")
