"""What can be looked at on a visit at any prompt, and changes nothing."""

from typing import Protocol

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.present.answers import answers_of
from diagnose.present.cautions import of_visit
from diagnose.present.notices import doubts_of
from diagnose.present.reasons import likely_of, why_of, workings_of
from diagnose.present.strip import strips_of
from diagnose.session.state import Session
from diagnose.terminal import draw
from diagnose.terminal.screen import Screen


class Looking(Protocol):
    """The visit that is looked at. `cautioned`: ids of the cautions told on it, in that order."""

    reasoner: Reasoner
    session: Session
    screen: Screen
    cautioned: dict[str, None]


def show(visit: Looking, command: str, conclusion: Conclusion) -> None:
    """Carry out one of the commands that only look."""
    kb = visit.reasoner.kb
    match command:
        case "why":
            draw.draw_why(visit.screen, why_of(visit.reasoner, conclusion))
        case "likely" | "workings":
            _explain(visit, conclusion, with_rules=command == "workings")
        case "chain":
            draw.draw_chain(visit.screen, strips_of(kb, visit.session, conclusion))
        case "answers":
            draw.draw_answers(visit.screen, answers_of(kb, visit.session, conclusion))
        case "cautions":
            draw.draw_all_cautions(visit.screen, of_visit(kb, visit.cautioned))


def _explain(visit: Looking, conclusion: Conclusion, with_rules: bool) -> None:
    kb, workings = visit.reasoner.kb, workings_of(visit.reasoner, visit.session, conclusion)
    if with_rules:
        draw.draw_rules(visit.screen, workings)
    draw.draw_weights(visit.screen, workings)
    draw.draw_likely(visit.screen, likely_of(kb, conclusion))
    for doubt in doubts_of(kb, visit.session, conclusion):
        draw.draw_doubt(visit.screen, doubt)
