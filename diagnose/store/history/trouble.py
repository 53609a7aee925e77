"""What a database says when something is wrong -> what a person can do about it."""

import contextlib
import sqlite3
from collections.abc import Iterator

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from diagnose.errors import VisitError
from diagnose.words import say

_ADVICE = (  # in the words of SQLite and PostgreSQL -> what is said
    (("disk is full", "no space left"), "full"),
    (("malformed", "not a database", "disk i/o error", "could not decode"), "damaged"),
    (("locked", "lock timeout"), "busy"),
    (("readonly", "read-only", "permission denied"), "readonly"),
    (("unable to open",), "shut"),
    (("connection", "could not translate", "failed to resolve", "closed"), "unreached"),
)


@contextlib.contextmanager
def explained(where: str) -> Iterator[None]:
    """Turn every error of the database inside into a VisitError that says where and what to do."""
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error) as error:
        raise VisitError(say("store.history_says", where=where, why=_words(error))) from error
    except UnicodeDecodeError as error:  # a damaged text, which the database hands on without a look
        why = say("store.history_damaged", said=error.reason)
        raise VisitError(say("store.history_says", where=where, why=why)) from error


def _words(error: Exception) -> str:
    cause = error.orig if isinstance(error, DBAPIError) and error.orig else error
    said = (str(cause).strip() or type(cause).__name__).splitlines()[0]
    for marks, advice in _ADVICE:
        if any(mark in said.casefold() for mark in marks):
            return say(f"store.history_{advice}", said=said)
    return said
