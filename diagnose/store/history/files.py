"""Which visit files were taken in, and how they were then."""

from typing import NamedTuple

from sqlalchemy import Connection, delete, insert, select

from diagnose.store.history import rows, tables


class TakenFile(NamedTuple):
    """`visit` is the id it is kept under, '' where it is not; `says` what is wrong or missing in it."""

    path: str
    state: str
    knowledge: str
    visit: str
    says: str


def taken_files(connection: Connection) -> dict[str, TakenFile]:
    """By their paths."""
    columns = (tables.files.c[name] for name in TakenFile._fields)
    return {row[0]: TakenFile(*row) for row in connection.execute(select(*columns))}


def taken_no_more(connection: Connection, visit: str) -> None:
    """Files of this visit, and those that stood back behind a longer copy, are read anew."""
    connection.execute(delete(tables.files).where(tables.files.c.visit.in_((rows.storable(visit), ""))))


def write_taken(connection: Connection, taken: TakenFile) -> None:
    row = {name: rows.storable(value) for name, value in taken._asdict().items()}
    connection.execute(delete(tables.files).where(tables.files.c.path == row["path"]))
    connection.execute(insert(tables.files).values(row))
