"""What stands between the network and the pages: host, size, headers, sessions, password, forged forms."""

import asyncio
import hashlib
import hmac
import re
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from diagnose.store.photos import MOST_BYTES
from diagnose.words import say

COOKIE = "diagnose_session"
SAME_SITE = "SameSite=Strict"
MOST_FORM = 64_000  # bytes of an ordinary form
MOST_UPLOAD = 2_500_000  # of a visit file with the form around it
MOST_PICTURE = MOST_BYTES + 500_000  # with the form around it
UPLOADS = {r"/takeover": MOST_UPLOAD, r"/visit/[^/]+/photo": MOST_PICTURE}
UNGUARDED = ("/login", "/static/")
HEALTH = "/healthz"  # for a machine that watches this one: by any name, without a session, and it tells nothing else
LASTS_S = 12 * 3600.0  # of a login
TRIES, TRIES_IN_S = 5, 300.0
MOST_ADDRESSES = 1000
FORM_WITHIN_S, UPLOAD_WITHIN_S = 20.0, 120.0  # of the request; the largest file still comes over a weak line
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


class RefusedRequest(HTTPException):
    """What is not taken here, with a status and why, in words."""


@dataclass(slots=True)
class Doorkeeper:
    """Passwords, logins and form tokens. `password` '' : no login is asked (only ever on loopback)."""

    password: str = ""
    secure: bool = False  # cookies only over TLS
    clock: Callable[[], float] = time.monotonic
    _secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    _until: dict[str, float] = field(default_factory=dict)
    _failures: dict[str, list[float]] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def token(self, session: str) -> str:
        """What a form of this session must carry; nobody without the secret can make one."""
        return hmac.new(self._secret, session.encode(), hashlib.sha256).hexdigest()

    def fits(self, session: str, token: str) -> bool:
        return bool(session) and hmac.compare_digest(self.token(session).encode(), token.encode())

    def knows(self, session: str) -> bool:
        """Whether pages may be shown to this session."""
        return not self.password or self._until.get(session, 0.0) > self.clock()

    def login(self, address: str, password: str) -> str:
        """A new session, or '' for a wrong password. Raises Refusal 429 after too many wrong ones."""
        with self._lock:
            now = self.clock()
            tried = [t for t in self._failures.get(address, []) if t > now - TRIES_IN_S]
            if len(tried) >= TRIES or len(self._failures) > MOST_ADDRESSES:
                self._forget(now)
                raise RefusedRequest(429, say("web.too_many_passwords"))
            if not hmac.compare_digest(_digest(password), _digest(self.password)):
                self._failures[address] = [*tried, now]
                return ""
            self._failures.pop(address, None)
            session = secrets.token_urlsafe(32)
            self._until = {s: end for s, end in self._until.items() if end > now} | {session: now + LASTS_S}
            return session

    def logout(self, session: str) -> None:
        with self._lock:
            self._until.pop(session, None)

    def _forget(self, now: float) -> None:
        recent = {a: [t for t in times if t > now - TRIES_IN_S] for a, times in self._failures.items()}
        self._failures = {a: times for a, times in recent.items() if times}

    def cookie(self, session: str) -> str:
        """The header that hands a session to the browser."""
        secure = "; Secure" if self.secure else ""
        return f"{COOKIE}={session}; Path=/; HttpOnly; {SAME_SITE}{secure}"


def _digest(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "replace")).digest()


class Guard:
    """ASGI middleware around every page. `local`: only names of this machine are answered to."""

    def __init__(self, app: ASGIApp, keeper: Doorkeeper, local: bool) -> None:
        self._app, self._keeper, self._local = app, keeper, local

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        connection, send = HTTPConnection(scope), _with_headers(send)
        if scope["path"] == HEALTH and scope["method"] in ("GET", "HEAD"):
            await self._app(scope, receive, send)
            return
        if self._local and not is_local(connection.headers.get("host", "")):
            await PlainTextResponse(say("web.other_address"), 421)(scope, receive, send)
            return
        if scope["method"] == "POST" and is_foreign(connection.headers):  # before any of it is read
            await PlainTextResponse(say("web.foreign_form"), 403)(scope, receive, send)
            return
        session = connection.cookies.get(COOKIE, "")
        path = str(scope["path"])
        if not self._keeper.knows(session) and not path.startswith(UNGUARDED):
            await RedirectResponse("/login", 303)(scope, receive, send)
            return
        if not session:
            session = secrets.token_urlsafe(32)
            send = _with_cookie(send, self._keeper.cookie(session))
        scope["diagnose_session"] = session
        most = next((most for where, most in UPLOADS.items() if re.fullmatch(where, path)), MOST_FORM)
        await self._app(scope, _limited(connection.headers, receive, most), send)


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


def _with_headers(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
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
