"""What a database says when something is wrong -> what a person can do about it."""

import contextlib
import sqlite3
from collections.abc import Iterator

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from diagnose.errors import VisitError

_SAYS = (  # in the words of SQLite and PostgreSQL
    (("disk is full", "no space left"), "the disk is full; free some space. What was saved before is kept"),
    (("malformed", "not a database", "disk i/o error"), "it is damaged or no history; put a backup in its place"),
    (("locked", "lock timeout"), "another program kept it busy for too long; try again"),
    (("readonly", "read-only", "permission denied"), "you may not write there"),
    (("unable to open",), "it cannot be opened; look at the folder and its permissions"),
    (("connection", "could not translate", "failed to resolve", "closed"), "the database cannot be reached"),
)


@contextlib.contextmanager
def explained(where: str) -> Iterator[None]:
    """Turn every error of the database inside into a VisitError that says where and what to do."""
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error) as error:
        raise VisitError(f"the history {where}: {_words(error)}") from error


def _words(error: Exception) -> str:
    cause = error.orig if isinstance(error, DBAPIError) and error.orig else error
    said = (str(cause).strip() or type(cause).__name__).splitlines()[0]
    for marks, advice in _SAYS:
        if any(mark in said.casefold() for mark in marks):
            return f"{advice} ({said})"
    return said
