"""A closed visit with a proved cause -> the text of a field case, for a person to complete."""

from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.errors import VisitError
from diagnose.kb.text import dumped
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import SOMETHING_ELSE, Answer
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say

TO_DO = "TO DO"


def case_text(kb: KnowledgeBase, session: Session, name: str) -> str:
    """YAML of the case. Raises VisitError for a visit that is open, or in which nothing was proved."""
    proved = [r.cause for r in session.repairs if r.proof == "passed"]
    if not session.outcome or not proved:
        raise VisitError(say("cases.only_closed"))
    return dumped({**_prose(kb, session, name, proved), **_answers(kb, session, proved)})


def _prose(kb: KnowledgeBase, session: Session, name: str, proved: list[str]) -> dict[str, Any]:
    """What a reader wants to know; names of people and places are for the person to leave out."""
    setup, causes = session.setup, [kb.causes[c] for c in proved[:2]]
    second = causes[1] if len(causes) > 1 else None
    main = kb.kinds[setup.devices[0]] if setup.devices else None
    return {
        "id": name,
        "invented": say("cases.true_once", what=TO_DO),
        "difficulty": "medium",
        "sensor_family": (main.in_cases or main.id) if main else TO_DO,
        "gate_type": str(setup.profile.get("site.gate_type", TO_DO)),
        "who": "helpdesk_with_caller" if setup.role == "help_desk" else "field_tech",
        "licence": setup.electrician,
        "gear": [{"name": kb.devices[d], "kind": d, "job": [TO_DO], "place": TO_DO} for d in setup.devices],
        "controller": TO_DO,
        "complaint": session.words or kb.complaints[session.complaint].says,
        "intermittent": False,
        "true_cause": causes[0].says,
        "true_cause_family": causes[0].family,
        "second_cause": second.says if second else None,
        "second_cause_family": second.family if second else None,
        "observations": dict(_observed(kb, session)),
        "hazard": TO_DO,
        "correct_fix": "; ".join(r.note for r in session.repairs if r.note) or causes[0].remedy.steps[0],
        "how_confirmed": "; ".join(r.reading for r in session.repairs if r.reading) or causes[0].proof,
    }


def _observed(kb: KnowledgeBase, session: Session) -> Iterator[tuple[str, str]]:
    for answer in _everything(session).values():
        if answer.says_something and (check := kb.checks.get(answer.check)):
            yield check.id, f"{ask_text(check, session.setup.role)} {answer_says(check, answer, session.setup.role)}"
    for number, repair in enumerate(session.repairs, start=1):
        yield (
            f"after_repair_{number}",
            f"{kb.causes[repair.cause].says}: proof {repair.proof}. {repair.reading}".strip(),
        )


def _answers(kb: KnowledgeBase, session: Session, proved: list[str]) -> dict[str, Any]:
    """The visit's answers as the case's; what a second fault shows after the first repair is the person's to say."""
    given = _everything(session)
    families = sorted({kb.causes[c].family for c in proved})
    words = {c: a.note for c, a in given.items() if a.value == SOMETHING_ELSE}
    start = {
        "touched": {"devices": [*session.setup.devices, "gate"], "links": families},
        "answers": {c: a.value for c, a in given.items() if a.says_something},
        "nobody": [c for c, a in given.items() if not a.worth_showing],
        **({"no_fit": words} if words else {}),
    }
    states: dict[str, Any] = {"start": start}
    if len(proved) > 1:
        states |= {name: {"touched": start["touched"]} for name in ("after_1", "after_2")}
    return {
        "faults": [{"says": kb.causes[c].says, "mended_by": [c]} for c in proved[:2]],
        "encoded": {"complaints": [session.complaint], "profile": dict(session.setup.profile), "states": states},
    }


def _everything(session: Session) -> Mapping[str, Answer]:
    """The first answer to every check: what was found before anything was mended."""
    found: dict[str, Answer] = {}
    for attempt in session.attempts:
        found = {a.check: a for a in (*attempt.carried, *attempt.answers)} | found
    return {a.check: a for a in session.given} | found
