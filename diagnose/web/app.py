"""The pages put together: addresses, and the one way in which a request reaches a page."""

from collections.abc import Callable, Collection
from contextlib import nullcontext
from dataclasses import dataclass, field
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from diagnose.errors import DiagnoseError
from diagnose.web import (
    exercise_pages,
    first_pages,
    health_page,
    hear_pages,
    history_pages,
    look_pages,
    photo_pages,
    record_pages,
    start_pages,
    trainee_pages,
    visit_pages,
)
from diagnose.web.context import Ask, PageContext
from diagnose.web.guard import HEALTH, Guard
from diagnose.web.keeper import NOBODY, RefusedRequest
from diagnose.web.lines import group_of
from diagnose.web.turns import Turns
from diagnose.web.visits import NoVisit
from diagnose.words import say

Handler = Callable[[PageContext, Ask], Response]
LOGINS_AT_ONCE = 2  # each takes 64 MB and a processor while its password is looked at
STATIC = Path(__file__).parent / "static"

SHOWN: dict[str, Handler] = {
    "/": start_pages.listing,
    "/start": start_pages.start,
    "/login": start_pages.login,
    "/visit/{name}": visit_pages.visit,
    "/visit/{name}/answers": visit_pages.answers,
    "/visit/{name}/change/{check}": visit_pages.change,
    "/visit/{name}/complaint": visit_pages.complaint,
    "/visit/{name}/heard": hear_pages.first_words,
    "/visit/{name}/likely": visit_pages.likely,
    "/visit/{name}/sheet": visit_pages.sheet,
    "/visit/{name}/photos/{photo}": photo_pages.photo,
    "/visit/{name}/record": record_pages.records,
    "/visit/{name}/record/{version}.{ending}": record_pages.record,
    "/visit/{name}/handover": record_pages.hand_over,
    "/takeover": record_pages.take_over_form,
    "/history": history_pages.search,
    "/practice": exercise_pages.lessons,
    "/practice/first": first_pages.walk,
    "/practice/words": first_pages.words,
    "/practice/trainees": trainee_pages.trainees,
    "/practice/{name}": exercise_pages.exercise,
    "/practice/{name}/check/{check}": exercise_pages.check,
    "/practice/{name}/repair": exercise_pages.repair,
}
SENT: dict[str, Handler] = {
    "/start": start_pages.begin,
    "/login": start_pages.log_in,
    "/logout": start_pages.log_out,
    "/visit/{name}": visit_pages.send,
    "/visit/{name}/heard": hear_pages.heard,
    "/visit/{name}/looked": look_pages.looked,
    "/visit/{name}/photo": photo_pages.attach,
    "/takeover": record_pages.take_over,
    "/practice": exercise_pages.begin,
    "/practice/half": exercise_pages.half_worked,
    "/practice/{name}": exercise_pages.send,
}


@dataclass(frozen=True, slots=True)
class _Turns:
    pages: Turns = field(default_factory=Turns)
    logins: Turns = field(default_factory=lambda: Turns(LOGINS_AT_ONCE))


def build(context: PageContext, local: bool, names: Collection[str] = ()) -> Guard:
    """The application; `local` when only this machine may use it; `names` under which others know it."""
    turns = _Turns()
    routes: list[BaseRoute] = [Mount("/static", StaticFiles(directory=STATIC))]
    routes += [Route(path, _shown(context, turns, page), methods=["GET"]) for path, page in SHOWN.items()]
    routes.append(Route(HEALTH, health_page.health_of(context), methods=["GET"]))
    routes += [Route(path, _sent(context, turns, page), methods=["POST"]) for path, page in SENT.items()]
    handlers = {HTTPException: _refused(context), DiagnoseError: _trouble(context), Exception: _unforeseen(context)}
    return Guard(Starlette(routes=routes, exception_handlers=handlers), context.keeper, local, names)


def _ask(context: PageContext, request: Request, form: FormData) -> Ask:
    session = str(request.scope["diagnose_session"])
    address = request.client.host if request.client else ""
    person, secure = context.keeper.who(session) or NOBODY, request.url.scheme == "https"
    return Ask(request.path_params, request.query_params, form, session, address, person, secure)


def _shown(context: PageContext, turns: _Turns, page: Handler) -> Callable[[Request], object]:
    async def show(request: Request) -> Response:
        return await _worked(context, turns, page, _ask(context, request, FormData()))

    return show


def _sent(context: PageContext, turns: _Turns, page: Handler) -> Callable[[Request], object]:
    """A form: taken only with the token that a page of this very session carried."""

    async def take(request: Request) -> Response:
        _require_plain(request)
        async with request.form(max_files=1, max_fields=200) as form:
            ask = _ask(context, request, form)
            if not context.keeper.fits(ask.session, ask.text("token")):
                raise RefusedRequest(403, say("web.old_form"))
            return await _worked(context, turns, page, ask)

    return take


async def _worked(context: PageContext, turns: _Turns, page: Handler, ask: Ask) -> Response:
    logins = turns.logins.of("everybody") if page is start_pages.log_in else nullcontext()
    async with turns.pages.of(group_of(ask.address)), logins:
        return await run_in_threadpool(page, context, ask)


def _require_plain(request: Request) -> None:
    """No browser names an encoding here, and some that Python knows are slow to read or make half characters."""
    kind = request.headers.get("content-type", "").lower()
    if "multipart" in kind and "charset" in kind:
        raise RefusedRequest(415, say("web.strange_encoding"))


def _refused(context: PageContext) -> Callable[[Request, Exception], Response]:
    """What these pages refuse, in their words; what only the framework does, in others of theirs."""

    def page(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        says = error.detail if isinstance(error, RefusedRequest) else say("web.no_such_page")
        return _error_page(context, request, error.status_code, says)

    return page


def _trouble(context: PageContext) -> Callable[[Request, Exception], Response]:
    def page(request: Request, error: Exception) -> Response:
        status = 404 if isinstance(error, NoVisit) else 422
        return _error_page(context, request, status, str(error))

    return page


def _unforeseen(context: PageContext) -> Callable[[Request, Exception], Response]:
    """A mistake of the program: said plainly here, and in full where the server runs."""

    def page(request: Request, _: Exception) -> Response:
        return _error_page(context, request, 500, say("web.went_wrong"))

    return page


def _error_page(context: PageContext, request: Request, status: int, says: str) -> Response:
    title = say("web.not_found") if status == 404 else say("web.not_possible")
    return context.page(_ask(context, request, FormData()), "error.html", status, title=title, says=says)
