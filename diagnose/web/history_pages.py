"""Earlier visits, searched in the history."""

from starlette.responses import Response

from diagnose.present.past import past_of
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
        found=[past_of(desk.kb, record) for record in found[:FOUND]],
        query=query,
        asked=asked,
        more=len(found) > FOUND,
        devices=desk.kb.devices,
    )
