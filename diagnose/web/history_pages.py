"""Earlier visits, searched in the history."""

from starlette.responses import Response

from diagnose.model.history import Outcome, VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.web.desk import Ask, Desk
from diagnose.words import say

FOUND = 50


def search(desk: Desk, ask: Ask) -> Response:
    """Earlier visits by words, site and sensor kind."""
    query = {name: ask.query.get(name, "")[:200] for name in ("q", "place", "kind")}
    asked = bool(ask.query)
    found = list(desk.search(query["q"], query["place"], query["kind"], FOUND + 1)) if asked else []
    return desk.page(
        ask,
        "history.html",
        found=[_past(desk.kb, record) for record in found[:FOUND]],
        query=query,
        asked=asked,
        more=len(found) > FOUND,
        devices=desk.kb.devices,
    )


def _past(kb: KnowledgeBase, record: VisitRecord) -> dict[str, str]:
    """One earlier visit in words, also where the knowledge no longer has its cause."""
    known, outcome = kb.complaints.get(record.complaint), record.outcome
    return {
        "id": record.id,
        "began": record.began,
        "site": record.site,
        "complaint": known.says if known else record.complaint,
        "words": record.words,
        "state": say(f"web.state_{record.state}"),
        "outcome": _outcome(kb, outcome) if outcome else "",
        "notes": "; ".join(filter(None, (outcome.remedy, outcome.note))) if outcome else "",
    }


def _outcome(kb: KnowledgeBase, outcome: Outcome) -> str:
    """What was found, whether it was proved, and whether the gate is in service."""
    causes = (kb.causes[c].says if c in kb.causes else c.replace("_", " ") for c in outcome.causes)
    return say(
        "web.past_outcome",
        found="; ".join(causes) or say("web.nothing_found"),
        proof=say("web.proof_passed") if outcome.proof_passed else say("web.not_proved"),
        service=say("web.in_service") if outcome.in_service else say("web.out_of_service"),
    )
