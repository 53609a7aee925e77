"""A deleted visit leaves the history, and comes back with it."""

from pathlib import Path

from diagnose.store.history.history import History
from diagnose.store.history.lineage import lineage_of
from diagnose.store.history.lines import write_lines
from diagnose.store.journal import read
from diagnose.store.visits import number_in

KEPT = ".history"  # beside the deleted visit: what other knowledge could not take in again


def forget(history: History, visit: Path) -> None:
    """`visit` is where it was put aside. Raises VisitError."""
    kept = visit.with_suffix(KEPT)
    found = read(visit)
    if record := history.copy_of(number_in(visit) or visit.stem, lineage_of(found)):
        kept.unlink(missing_ok=True)
        write_lines(kept, [record])
        history.remove(record.id)


def remember(history: History, visit: Path) -> None:
    """Before it is brought back. Raises VisitError."""
    kept = visit.with_suffix(KEPT)
    if kept.is_file():
        history.import_(kept)
        kept.unlink()
