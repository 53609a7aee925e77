"""Numbered steps to the newest tables; each runs once, in its own transaction, whoever comes first.

A step is never changed once released: it is frozen SQL that SQLite and PostgreSQL both understand.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence

from sqlalchemy import Connection, Engine, func, insert, inspect, select, text

from diagnose.errors import VisitError
from diagnose.store.history import rows, tables
from diagnose.store.history.place import WRITES
from diagnose.words import say

_LOCK = 7_318_442_091  # any number, the same in every process
_PART = "visit TEXT NOT NULL REFERENCES diagnose_visits (id) ON DELETE CASCADE"

_FIRST = (
    """CREATE TABLE diagnose_visits (id TEXT PRIMARY KEY, began TEXT NOT NULL, ended TEXT NOT NULL,
    changed TEXT NOT NULL, site TEXT NOT NULL, role TEXT NOT NULL, complaint TEXT NOT NULL, words TEXT NOT NULL,
    knowledge TEXT NOT NULL, state TEXT NOT NULL)""",
    f"""CREATE TABLE diagnose_devices ({_PART}, n INTEGER NOT NULL, device TEXT NOT NULL,
    PRIMARY KEY (visit, n))""",
    f"""CREATE TABLE diagnose_answers ({_PART}, n INTEGER NOT NULL, check_id TEXT NOT NULL, word TEXT,
    number DOUBLE PRECISION, sure BOOLEAN NOT NULL, given_by TEXT NOT NULL, note TEXT NOT NULL,
    PRIMARY KEY (visit, n))""",
    f"""CREATE TABLE diagnose_outcomes ({_PART}, remedy TEXT NOT NULL, proof_passed BOOLEAN NOT NULL,
    in_service BOOLEAN NOT NULL, note TEXT NOT NULL, PRIMARY KEY (visit))""",
    f"""CREATE TABLE diagnose_causes ({_PART}, n INTEGER NOT NULL, cause TEXT NOT NULL,
    PRIMARY KEY (visit, n))""",
    "CREATE INDEX diagnose_visits_began ON diagnose_visits (began)",
)
_SECOND = (
    "ALTER TABLE diagnose_visits ADD COLUMN site_key TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE diagnose_visits ADD COLUMN search TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX diagnose_visits_site ON diagnose_visits (site_key)",
)
_THIRD = (
    "ALTER TABLE diagnose_visits ADD COLUMN took DOUBLE PRECISION NOT NULL DEFAULT 0",
    "ALTER TABLE diagnose_visits ADD COLUMN expected DOUBLE PRECISION NOT NULL DEFAULT 0",
    "ALTER TABLE diagnose_outcomes ADD COLUMN how TEXT NOT NULL DEFAULT ''",
    f"""CREATE TABLE diagnose_repairs ({_PART}, n INTEGER NOT NULL, cause TEXT NOT NULL, proof TEXT NOT NULL,
    note TEXT NOT NULL, PRIMARY KEY (visit, n))""",
)
_FOURTH = ("ALTER TABLE diagnose_visits ADD COLUMN entries INTEGER NOT NULL DEFAULT 0",)
_FIFTH = (
    "ALTER TABLE diagnose_visits ADD COLUMN lineage TEXT NOT NULL DEFAULT ''",
    """CREATE TABLE diagnose_files (path TEXT PRIMARY KEY, state TEXT NOT NULL, knowledge TEXT NOT NULL,
    visit TEXT NOT NULL, says TEXT NOT NULL)""",
    "CREATE INDEX diagnose_devices_device ON diagnose_devices (device)",
)
_TEXTS = (
    "SELECT id, site, words, complaint FROM diagnose_visits",
    "SELECT visit, device FROM diagnose_devices ORDER BY n",
    "SELECT visit, note FROM diagnose_answers ORDER BY n",
    "SELECT visit, cause FROM diagnose_causes ORDER BY n",
    "SELECT visit, remedy, note FROM diagnose_outcomes",
)


def _create(connection: Connection) -> None:
    _run(connection, _FIRST)


def _make_searchable(connection: Connection) -> None:
    _run(connection, _SECOND)
    _fill_search(connection)


def _count_work(connection: Connection) -> None:
    """Minutes, repairs and the way a visit ended; a search no longer finds visits by pieces of their ids."""
    _run(connection, _THIRD)
    _fill_search(connection)


def _fill_search(connection: Connection) -> None:
    texts: dict[str, list[str]] = defaultdict(list)
    for query in _TEXTS:
        for visit, *said in connection.execute(text(query)):
            texts[visit] += said
    filling = text("UPDATE diagnose_visits SET site_key = :site, search = :search WHERE id = :id")
    for visit, (site, *said) in texts.items():
        row = {"id": visit, "site": rows.folded(site), "search": rows.searchable([site, *said])}
        connection.execute(filling, row)


def _count_entries(connection: Connection) -> None:
    """What was kept before counts as older than any version that comes with the number of its entries."""
    _run(connection, _FOURTH)


def _remember_files(connection: Connection) -> None:
    """Files that were taken in need not be read again; every one is, once, to learn its lineage."""
    _run(connection, _FIFTH)


def _run(connection: Connection, statements: Sequence[str]) -> None:
    for statement in statements:
        connection.execute(text(statement))


STEPS: Sequence[Callable[[Connection], None]] = (
    _create,
    _make_searchable,
    _count_work,
    _count_entries,
    _remember_files,
)


def migrate(engine: Engine, steps: Sequence[Callable[[Connection], None]] = STEPS) -> None:
    """Bring the database to the newest tables. Raises VisitError when it is newer than this program."""
    with engine.connect() as connection:
        number = number_of(connection)
    while number < len(steps):
        number = _one_step(engine, steps)
    if number > len(steps):
        raise VisitError(say("store.newer_tables", number=number, known=len(steps)))


def _one_step(engine: Engine, steps: Sequence[Callable[[Connection], None]]) -> int:
    """The next step that nobody has made yet, and the number then reached."""
    with engine.execution_options(**{WRITES: True}).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(select(func.pg_advisory_xact_lock(_LOCK)))
        number = number_of(connection)
        if number < len(steps):
            _run(connection, ("CREATE TABLE IF NOT EXISTS diagnose_migrations (number INTEGER PRIMARY KEY)",))
            steps[number](connection)
            number += 1
            connection.execute(insert(tables.migrations).values(number=number))
        return number


def number_of(connection: Connection) -> int:
    if not inspect(connection).has_table(tables.migrations.name):
        return 0
    return connection.execute(select(func.max(tables.migrations.c.number))).scalar() or 0
