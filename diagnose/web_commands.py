"""`diagnose serve`: the pages on this machine, or - with a password - on its network. Returns an exit code."""

import argparse
import os
import socket
import ssl
import threading
from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.commands import reasoner_of
from diagnose.errors import VisitError
from diagnose.kb.files import PROFILE_FOLDER, shipped_folder
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store import visits
from diagnose.store.kept import kept_records
from diagnose.store.profiles import load_profile
from diagnose.store.progress import practice_folder

if TYPE_CHECKING:
    from diagnose.store.history.history import History
    from diagnose.web.desk import Desk
    from diagnose.web.drills import Drills

LOOPBACK = ("127.0.0.1", "::1", "localhost")
VARIABLE = "DIAGNOSE_PASSWORD"
SHORTEST_PASSWORD = 10
MOST_FOUND = 51
WANTED = ("starlette", "uvicorn", "python_multipart", "multipart")
NEEDED = "the pages need a few more packages: pip install 'gate-diagnose[web]'"
CLEAR_TEXT = (
    "Open to the network WITHOUT encryption: whoever can listen there can read the password. "
    "Use a network you trust, or give --certificate and --key."
)


def serve(args: argparse.Namespace) -> int:
    """Serve until Ctrl-C. Every answer is on disk before its next page is shown, so stopping loses nothing."""
    try:
        import python_multipart  # noqa: F401  (starlette wants it only once a form arrives)
        import uvicorn

        from diagnose.web.app import build
        from diagnose.web.punctual import Punctual
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in WANTED:
            raise
        raise VisitError(NEEDED) from error
    local = args.host in LOOPBACK
    password = _password(args, local)
    _require_certificate(args.certificate, args.key)
    desk = desk_of(args, password)
    config = uvicorn.Config(
        build(desk, local),
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        http=Punctual,
        ws="none",
        limit_concurrency=64,
        timeout_graceful_shutdown=3,
        ssl_certfile=args.certificate or None,
        ssl_keyfile=args.key or None,
    )
    with _door(args.host, args.port) as door, suppress(KeyboardInterrupt):  # raised once open pages have ended
        print(_welcome(args.host, door.getsockname()[1], local, bool(args.certificate)), flush=True)
        uvicorn.Server(config).run([door])
    print("stopped; every answer given is saved")
    return 0


def _require_certificate(certificate: str, key: str) -> None:
    """What is to encrypt the pages can be used. Raises VisitError."""
    if key and not certificate:
        raise VisitError("--key needs the certificate it belongs to: --certificate FILE")
    try:
        if certificate:
            ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key or None)
    except OSError as error:
        raise VisitError(f"cannot use the certificate {certificate}: {error.strerror or error}") from error


def _door(host: str, port: int) -> socket.socket:
    """A socket that listens there. Raises VisitError."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family)
    except (OSError, OverflowError) as error:
        reason = (error.strerror if isinstance(error, OSError) else "") or error
        raise VisitError(f"cannot serve on {host} port {port}: {reason}; choose another with --port") from error


def _welcome(host: str, port: int, local: bool, secure: bool) -> str:
    name = f"[{host}]" if ":" in host else host
    address = f"http{'s' if secure else ''}://{name}:{port}/  (Ctrl-C stops)"
    return address if local or secure else f"{address}\n{CLEAR_TEXT}"


def desk_of(args: argparse.Namespace, password: str = "") -> "Desk":
    """Everything the pages need."""
    from diagnose.web.desk import Desk
    from diagnose.web.guard import Doorkeeper
    from diagnose.web.visits import Visits

    reasoner, folder = reasoner_of(args), visits.visits_folder(args.visits)
    visits.require_writable(folder)
    return Desk(
        visits=Visits(reasoner, folder),
        keeper=Doorkeeper(password, secure=bool(args.certificate)),
        search=Past(reasoner.kb, folder, args.database),
        profiles=profiles_of(args.profile),
        drills=_drills(reasoner.kb, args.practice),
    )


def _drills(kb: KnowledgeBase, folder: str) -> "Drills":
    from diagnose import practice_commands as practice
    from diagnose.web.drills import Drills

    reasoner = practice.practice_reasoner(kb)
    draw, count = practice.drawn_for, partial(practice.worked, kb)
    return Drills(reasoner, practice_folder(folder), draw, count)


def _password(args: argparse.Namespace, local: bool) -> str:
    """From a file or the environment, never from the command line, where everybody on the machine can read it."""
    password = _read_password(Path(args.password_file)) if args.password_file else os.environ.get(VARIABLE, "")
    if not local and not args.open_to_network:
        raise VisitError(f"{args.host} is not this machine alone; add --open-to-network if others are to come in")
    if not local and not password:
        raise VisitError(f"open to a network only with a password: --password-file FILE, or {VARIABLE}")
    if password and len(password) < SHORTEST_PASSWORD:
        raise VisitError(f"the password needs at least {SHORTEST_PASSWORD} characters")
    return password


def _read_password(path: Path) -> str:
    try:
        return path.read_text("utf-8").strip()
    except (OSError, ValueError) as error:
        raise VisitError(f"cannot read the password file {path}: {error}") from error


def profiles_of(given: Iterable[str]) -> dict[str, dict[str, str]]:
    """Profiles that a form may choose, by kind and id: the shipped ones and those given when serving."""
    shipped = sorted((shipped_folder("knowledge") / PROFILE_FOLDER).glob("*.yaml"))
    found: dict[str, dict[str, str]] = {"device": {}, "site": {}}
    for name in (*map(str, shipped), *given):
        profile = load_profile(name)
        found[profile.kind][profile.id] = name
    return found


class Past:
    """Search in the history; visits that are new or changed since the last search are taken in first."""

    def __init__(self, kb: KnowledgeBase, folder: Path, database: str) -> None:
        self._kb, self._folder, self._database = kb, folder, database
        self._taken: dict[Path, int] = {}
        self._lock = threading.Lock()
        self._history: History | None = None

    def __call__(self, words: str, place: str, kind: str) -> tuple[VisitRecord, ...]:
        """The newest visits that fit. Raises VisitError."""
        history = self._opened()
        return history.search(words, place, kind, MOST_FOUND)

    def _opened(self) -> "History":
        from diagnose.store.history.history import History

        with self._lock:
            if self._history is None:
                self._history = History(self._database)
            changed = dict(self._changed())
            for record in kept_records(self._kb, changed):
                self._history.save(record)
            self._taken |= changed
            return self._history

    def _changed(self) -> Iterator[tuple[Path, int]]:
        for path in self._folder.glob("*.visit"):
            with suppress(OSError):  # gone meanwhile, or a link to nothing
                if self._taken.get(path) != (changed := path.stat().st_mtime_ns):
                    yield path, changed
