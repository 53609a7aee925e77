"""Earlier visits, searched in the history."""

from starlette.responses import Response

from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.web.desk import Ask, Desk

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
    causes = kb.causes
    outcome = record.outcome
    found = (
        "; ".join(causes[c].says if c in causes else c.replace("_", " ") for c in outcome.causes) if outcome else ""
    )
    known = kb.complaints.get(record.complaint)
    proof = "proof passed" if outcome and outcome.proof_passed else "not proved"
    service = "in service" if outcome and outcome.in_service else "left out of service"
    return {
        "id": record.id,
        "began": record.began,
        "site": record.site,
        "complaint": known.says if known else record.complaint,
        "words": record.words,
        "state": record.state,
        "outcome": f"{found or 'no cause was found'} ({proof}, {service})" if outcome else "",
        "notes": "; ".join(filter(None, (outcome.remedy, outcome.note))) if outcome else "",
    }
