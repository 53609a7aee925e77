"""Whether this server can do its work, for whoever watches it: 200, or 503 with what cannot be used."""

import logging
from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from diagnose.errors import DiagnoseError
from diagnose.store.visits import require_writable
from diagnose.web.context import PageContext

_LOG = logging.getLogger(__name__)


def health_of(context: PageContext) -> Callable[[Request], object]:
    async def health(_: Request) -> Response:
        found = await run_in_threadpool(_looked, context)
        return JSONResponse({"ok": all(found.values()), **found}, 200 if all(found.values()) else 503)

    return health


def _looked(context: PageContext) -> dict[str, bool]:
    return {
        "visits": _works(lambda: require_writable(context.visits.folder)),
        "history": _works(lambda: context.search("", "", "", 1)),
    }


def _works(use: Callable[[], object]) -> bool:
    """What is wrong is for the log alone: it may name places and people of the database."""
    try:
        use()
    except DiagnoseError as error:
        _LOG.warning("%s", error)
        return False
    return True
