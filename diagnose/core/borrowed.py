"""experta, borrowed: its only import, and all that its age asks for.

It and the frozendict it pins want names that Python 3.10 took out of `collections`, and it calls
logging.basicConfig(). Names are lent while it is imported, and what it did to the root logger is put back.
"""

import collections
import collections.abc
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any

LENT = ("Mapping", "MutableMapping", "Sequence", "Iterable", "Hashable", "Callable")


@cache
def experta() -> Any:
    """The module; imported when rules are first run, because it takes a while."""
    with _names_lent(), _root_logger_kept():
        import experta as module
    return module


@contextmanager
def _names_lent() -> Iterator[None]:
    lent = [name for name in LENT if not hasattr(collections, name)]
    for name in lent:
        setattr(collections, name, getattr(collections.abc, name))
    try:
        yield
    finally:
        for name in lent:
            delattr(collections, name)


@contextmanager
def _root_logger_kept() -> Iterator[None]:
    handlers, level = list(logging.root.handlers), logging.root.level
    try:
        yield
    finally:
        logging.root.handlers[:], logging.root.level = handlers, level
