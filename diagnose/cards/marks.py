"""Cautions as they stand on a card: each has a mark that stands beside whatever it is for."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MarkedCaution:
    """A caution with its mark on this card; `grave` where the check itself can kill."""

    mark: str
    says: str
    grave: bool
