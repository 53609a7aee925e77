"""One visit into the database: in place of an older copy of itself, and of nothing else."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, and_, delete, insert, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite

from diagnose.errors import VisitError
from diagnose.model.history import VisitRecord
from diagnose.store.history import rows, tables
from diagnose.store.history.lineage import Relation, branch_of, relation
from diagnose.words import say

_INSERT: Mapping[str, Any] = {"sqlite": sqlite.insert, "postgresql": postgresql.insert}
_VISIT = tables.visits.c


class OtherVisit(VisitError):
    """The number is that of a visit that is kept, the content is not: a person decides which one is kept."""


def save(connection: Connection, record: VisitRecord, name: str = "") -> str:
    """The id under which the visit is kept, also where it was already; '' where a newer copy is kept.

    Raises OtherVisit.

    Its row goes first: whoever else saves this visit waits there until everything is in.
    """
    row = rows.visit_row(record)
    adding = _INSERT[connection.dialect.name](tables.visits).values(row).on_conflict_do_nothing()
    if connection.execute(adding.returning(_VISIT.id)).first() is None:
        return _beside(connection, record, row, name or record.id)
    _parts(connection, row["id"], record)
    return str(row["id"])


def put(connection: Connection, record: VisitRecord) -> str:
    """In place of whatever has this number, as a person decided."""
    connection.execute(delete(tables.visits).where(_VISIT.id == rows.storable(record.id)))
    return save(connection, record)


def _beside(connection: Connection, record: VisitRecord, row: rows.Plain, name: str) -> str:
    """What is done where the number is kept already."""
    kin = kin_of(connection, row["id"])
    if same := next((visit for visit, line in kin.items() if line and line == record.lineage), ""):
        return same
    ways: dict[str, Relation] = {visit: relation(line, record.lineage) for visit, line in kin.items()}
    for visit, way in ways.items():
        if way in ("newer", "unknown") and _renewed(connection, {**row, "id": visit}, way == "newer"):
            _parts(connection, visit, record)
            return visit
    if {"newer", "older", "unknown"} & set(ways.values()):
        return ""
    if "conflict" in ways.values():
        raise OtherVisit(say("store.other_visit", name=name))
    parted = next(iter(kin))
    return _branched(connection, record, branch_of(row["id"], kin[parted], record.lineage))


def _branched(connection: Connection, record: VisitRecord, visit: str) -> str:
    row = {**rows.visit_row(record), "id": visit}
    connection.execute(insert(tables.visits).values(row))
    _parts(connection, visit, record)
    return visit


def _renewed(connection: Connection, row: rows.Plain, surely: bool) -> bool:
    as_new = and_(_VISIT.entries == row["entries"], _VISIT.changed <= row["changed"])
    older = or_(_VISIT.entries < row["entries"], as_new)
    mine = update(tables.visits).where(_VISIT.id == row["id"])
    return bool(connection.execute((mine if surely else mine.where(older)).values(row)).rowcount)


def _parts(connection: Connection, visit: str, record: VisitRecord) -> None:
    for table in tables.parts:
        connection.execute(delete(table).where(table.c.visit == visit))
    for table, some in rows.part_rows(record):
        if some:
            connection.execute(insert(table), [{**one, "visit": visit} for one in some])


def kin_of(connection: Connection, visit: str) -> dict[str, str]:
    """The visits with this number, whoever went on with them -> their lineages; the first one is the oldest."""
    copies = or_(_VISIT.id == visit, _VISIT.id.startswith(f"{visit}~", autoescape=True))
    found = connection.execute(select(_VISIT.id, _VISIT.lineage).where(copies).order_by(_VISIT.id))
    return {row.id: row.lineage for row in found}
