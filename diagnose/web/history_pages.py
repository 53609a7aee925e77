"""Earlier visits, searched in the history."""

from starlette.responses import Response

from diagnose.present.earlier import earlier_visit_of
from diagnose.web.context import Ask, PageContext

FOUND = 50


def search(context: PageContext, ask: Ask) -> Response:
    """Earlier visits by words, site and sensor kind."""
    query = {name: ask.query.get(name, "")[:200] for name in ("q", "place", "kind")}
    asked = bool(ask.query)
    found = list(context.search(query["q"], query["place"], query["kind"], FOUND + 1)) if asked else []
    return context.page(
        ask,
        "history.html",
        found=[earlier_visit_of(context.kb, record) for record in found[:FOUND]],
        query=query,
        asked=asked,
        trouble=list(context.trouble()) if asked else [],
        more=len(found) > FOUND,
        devices=context.kb.devices,
    )
