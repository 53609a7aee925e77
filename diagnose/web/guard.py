"""What stands between the network and the pages: framing, host, size, headers, sessions, forged forms."""

import asyncio
import re
import secrets
from collections.abc import Collection

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from diagnose.store.photos import MOST_BYTES
from diagnose.web.keeper import COOKIE, Doorkeeper, RefusedRequest, cookie
from diagnose.words import say

MOST_FORM = 64_000  # bytes of an ordinary form
MOST_UPLOAD = 2_500_000  # of a visit file with the form around it
MOST_PICTURE = MOST_BYTES + 500_000  # with the form around it
UPLOADS = {r"/takeover": MOST_UPLOAD, r"/visit/[^/]+/photo": MOST_PICTURE}
UNGUARDED = ("/login", "/static/")
HEALTH = "/healthz"  # for a machine that watches this one: by any name, without a session, and it tells nothing else
FORM_WITHIN_S, UPLOAD_WITHIN_S = 20.0, 120.0  # of the request; the largest file still comes over a weak line
ENCRYPTED_ONLY = "max-age=31536000"
LOCAL_HOSTS = ("localhost", "127.0.0.1", "[::1]")
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Frame-Options": "DENY",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}


class Guard:
    """ASGI middleware around every page. `local`: only names of this machine are answered to; `names`: also these."""

    def __init__(self, app: ASGIApp, keeper: Doorkeeper, local: bool, names: Collection[str] = ()) -> None:
        self._app, self._keeper, self._local = app, keeper, local
        self._names = frozenset(name.casefold() for name in names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        connection, secure = HTTPConnection(scope), scope.get("scheme") == "https"
        send = _with_headers(send, secure)
        if refused := self._refused(scope, connection.headers):
            await refused(scope, receive, send)
            return
        if scope["path"] == HEALTH and scope["method"] in ("GET", "HEAD"):
            await self._app(scope, receive, send)
            return
        session, path = connection.cookies.get(COOKIE, ""), str(scope["path"])
        if not path.startswith(UNGUARDED) and not self._keeper.knows(session):
            await RedirectResponse("/login", 303)(scope, receive, send)
            return
        if not session:
            session = secrets.token_urlsafe(32)
            send = _with_cookie(send, cookie(session, secure))
        scope["diagnose_session"] = session
        most = next((most for where, most in UPLOADS.items() if re.fullmatch(where, path)), MOST_FORM)
        await self._app(scope, _limited(connection.headers, receive, most), send)

    def _refused(self, scope: Scope, headers: Headers) -> Response | None:
        """Before any of its body is read."""
        if has_two_framings(headers):  # where it ends is then for each server on the way to guess
            return PlainTextResponse(say("web.two_framings"), 400, {"connection": "close"})
        if scope["path"] == HEALTH and scope["method"] in ("GET", "HEAD"):
            return None
        if not self._answers_to(headers.get("host", "")):
            return PlainTextResponse(say("web.other_address"), 421)
        if scope["method"] == "POST" and is_foreign(headers):
            return PlainTextResponse(say("web.foreign_form"), 403)
        return None

    def _answers_to(self, host: str) -> bool:
        if not self._local and not self._names:
            return True
        name = host if host.endswith("]") else re.sub(r":\d+$", "", host)
        return is_local(host) or name.casefold() in self._names


def has_two_framings(headers: Headers) -> bool:
    """Whether a request says in two ways how long it is, or the same way twice where the parser lets that through."""
    lengths, codings = headers.getlist("content-length"), headers.getlist("transfer-encoding")
    return len(lengths) + len(codings) > 1


def is_local(host: str) -> bool:
    """Whether a Host header names this machine, with or without a port; any other name may be a rebound one."""
    name, colon, port = host.rpartition(":")
    if not colon or port.endswith("]"):
        return host in LOCAL_HOSTS
    return name in LOCAL_HOSTS and port.isdigit()


def is_foreign(headers: Headers) -> bool:
    """Whether a browser says that a page of another address sends this; 'null' is one that hides its address."""
    origin = headers.get("origin")
    return origin is not None and origin.partition("://")[2] != headers.get("host", "")


def _limited(headers: Headers, receive: Receive, most: int) -> Receive:
    """`receive` that refuses a body beyond `most` bytes, whatever its announced length says, or one that dawdles."""
    announced, taken = headers.get("content-length", "0"), 0
    end = asyncio.get_running_loop().time() + (FORM_WITHIN_S if most == MOST_FORM else UPLOAD_WITHIN_S)
    refused = RefusedRequest(413, say("web.too_large"))

    async def limited() -> Message:
        nonlocal taken
        if announced.isdigit() and int(announced) > most:
            raise refused
        try:
            async with asyncio.timeout_at(end):
                message = await receive()
        except TimeoutError as error:
            raise RefusedRequest(408, say("web.too_slow")) from error
        taken += len(message.get("body", b""))
        if taken > most:
            raise refused
        return message

    return limited


def _with_headers(send: Send, secure: bool) -> Send:
    wanted = {**HEADERS, **({"Strict-Transport-Security": ENCRYPTED_ONLY} if secure else {})}

    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in wanted.items():
                headers.setdefault(name, value)
        await send(message)

    return guarded


def _with_cookie(send: Send, cookie: str) -> Send:
    async def handing(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            if "set-cookie" not in headers:
                headers.append("Set-Cookie", cookie)
        await send(message)

    return handing
