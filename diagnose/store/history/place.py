"""Which database, and an engine ready for it."""

import os
import sqlite3
import time
from pathlib import Path
from typing import Any

from platformdirs import user_data_path
from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError

from diagnose.errors import VisitError
from diagnose.words import say

VARIABLE = "DIAGNOSE_HISTORY"
WAIT_S = 30.0  # for another writer
CONNECT_S = 10
WRITES = "diagnose_writes"  # execution option: this transaction will write


def history_url(chosen: str = "") -> URL:
    """The chosen URL or file, else the one in DIAGNOSE_HISTORY, else a file in the user's data folder.

    Raises VisitError at anything that is neither a SQLite file nor PostgreSQL.
    """
    wanted = chosen or os.environ.get(VARIABLE, "") or str(user_data_path("gate-diagnose") / "history.db")
    if "://" not in wanted:
        return URL.create("sqlite", database=wanted)
    try:
        url = make_url(wanted)
    except (ArgumentError, ValueError) as error:
        raise VisitError(say("store.no_url")) from error
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if url.drivername == "sqlite" and url.database not in (None, "", ":memory:"):
        return url
    raise VisitError(say("store.only_these_urls", url=url.render_as_string()))


def open_engine(url: URL) -> Engine:
    """An engine for the URL. Raises VisitError when its folder cannot be made or its driver is not installed."""
    return _shared(url) if url.get_backend_name() == "postgresql" else _file(url)


def _shared(url: URL) -> Engine:
    options: dict[str, Any] = {"connect_timeout": CONNECT_S}
    if "options" not in url.query:
        options["options"] = f"-c lock_timeout={WAIT_S:.0f}s"
    try:
        return create_engine(url, connect_args=options, pool_pre_ping=True)
    except ModuleNotFoundError as error:
        raise VisitError(say("store.shared_needs")) from error


def _file(url: URL) -> Engine:
    path = Path(url.database or "")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        raise VisitError(say("store.history_not_opened", path=path, why=reason)) from error
    engine = create_engine(url, connect_args={"timeout": WAIT_S})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: sqlite3.Connection, _: object) -> None:
    connection.isolation_level = None  # the driver must not begin transactions: `_begin` says which kind
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")  # a commit is on disk, even through a power cut
    _write_ahead(connection, time.monotonic() + WAIT_S)


def _write_ahead(connection: sqlite3.Connection, until: float) -> None:
    """Readers never wait. SQLite does not queue for this switch, so several first starts take turns here."""
    while connection.execute("PRAGMA journal_mode").fetchone() != ("wal",):
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.01)


def _begin(connection: Connection) -> None:
    """A writer queues at once; one that began as a reader could be refused in the middle."""
    writes = connection.get_execution_options().get(WRITES)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
