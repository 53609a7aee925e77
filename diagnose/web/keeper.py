"""Who may see the pages: passwords, logins, and the tokens of forms."""

import hashlib
import hmac
import logging
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from starlette.exceptions import HTTPException

from diagnose.present.clean import LONGEST_NAME, clean
from diagnose.store import passwords
from diagnose.store.users import KnownUsers, key_of
from diagnose.web.lines import group_of
from diagnose.web.throttle import Throttle
from diagnose.words import say

COOKIE = "diagnose_session"
SAME_SITE = "SameSite=Strict"
LASTS_S = 12 * 3600.0  # of a login
LOG = logging.getLogger("diagnose.logins")


class RefusedRequest(HTTPException):
    """What is not taken here, with a status and why, in words."""


@dataclass(frozen=True, slots=True)
class LoggedIn:
    """Who is logged in; nobody by name where one password is shared, or none is asked."""

    name: str = ""
    role: str = ""


NOBODY = LoggedIn()


@dataclass(frozen=True, slots=True)
class _Login:
    until: float
    key: str = ""
    proof: str = ""  # the hash it was proved against: with another password, or without the user, it has ended


@dataclass(slots=True)
class Doorkeeper:
    """`users` have their own passwords; else one `password` is shared; without both no login is asked."""

    password: str = ""
    users: KnownUsers | None = None
    clock: Callable[[], float] = time.monotonic
    _secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    _logins: dict[str, _Login] = field(default_factory=dict)
    _throttle: Throttle = field(init=False)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def __post_init__(self) -> None:
        self._throttle = Throttle(lambda: self.clock())

    @property
    def asks(self) -> bool:
        """Whether anybody has to log in."""
        return bool(self.password or self.users)

    def token(self, session: str) -> str:
        """What a form of this session must carry; nobody without the secret can make one."""
        return hmac.new(self._secret, session.encode(), hashlib.sha256).hexdigest()

    def fits(self, session: str, token: str) -> bool:
        return bool(session) and hmac.compare_digest(self.token(session).encode(), token.encode())

    def knows(self, session: str) -> bool:
        """Whether pages may be shown to this session."""
        return self.who(session) is not None

    def who(self, session: str) -> LoggedIn | None:
        """None for whoever has to log in first."""
        if not self.asks:
            return NOBODY
        login = self._logins.get(session)
        if login is None or login.until <= self.clock():
            return None
        if not self.users:
            return NOBODY
        user = self.users.now().get(login.key)
        return LoggedIn(user.name, user.role) if user and user.password == login.proof else None

    def login(self, address: str, password: str, name: str = "") -> str:
        """A new session, or '' for a wrong name or password. Raises RefusedRequest 429 after too many wrong ones."""
        group, key = group_of(address), key_of(name)[:LONGEST_NAME] if self.users else ""
        with self._lock:
            allowed = self._throttle.may_try(group, key)
        if not allowed:
            LOG.warning("%s", say("web.log_throttled", name=self._named(key), address=clean(address, 60)))
            raise RefusedRequest(429, say("web.too_many_passwords"))
        proof = self._proved(key, password)
        told = "web.log_in_right" if proof else "web.log_in_wrong"
        LOG.log(
            logging.INFO if proof else logging.WARNING,
            "%s",
            say(told, name=self._named(key), address=clean(address, 60)),
        )
        if not proof:
            return ""
        with self._lock:
            self._throttle.right(group, key)
            return self._begun(_Login(self.clock() + LASTS_S, key, proof))

    def _begun(self, login: _Login) -> str:
        session, now = secrets.token_urlsafe(32), self.clock()
        self._logins = {s: known for s, known in self._logins.items() if known.until > now} | {session: login}
        return session

    def _proved(self, key: str, password: str) -> str:
        """What the password was held against; '' when it is wrong."""
        if not self.users:
            right = hmac.compare_digest(_digest(password), _digest(self.password))
            return "shared" if right and self.password else ""
        user = self.users.now().get(key)
        right = passwords.fits(user.password if user else passwords.of_nobody(), password)
        return user.password if user and right else ""

    def _named(self, key: str) -> str:
        """A name for the log: only that of a user, for a password is soon typed where the name belongs."""
        user = self.users.now().get(key) if self.users else None
        return clean(user.name, LONGEST_NAME) if user else say("web.log_nobody") if self.users else ""

    def logout(self, session: str) -> None:
        with self._lock:
            self._logins.pop(session, None)


def cookie(session: str, secure: bool) -> str:
    """The header that hands a session to the browser; over an encrypted line for that line only."""
    return f"{COOKIE}={session}; Path=/; HttpOnly; {SAME_SITE}{'; Secure' if secure else ''}"


def _digest(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "replace")).digest()
