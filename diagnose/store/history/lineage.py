"""Which visit a file tells of: two copies of one visit have the same entries as far as both go.

A lineage has nine signs for each number of an entry: whether somebody took the visit over there, and a digest.
"""

import hashlib
import json
from contextlib import suppress
from pathlib import Path
from typing import Literal

from diagnose.errors import VisitError
from diagnose.store.journal import read
from diagnose.store.recover import Recovered
from diagnose.store.visits import number_in
from diagnose.words import say

Relation = Literal["unknown", "newer", "older", "branch", "conflict"]
_PIECE = 9
_LOST = "-" * _PIECE  # a number that no line has, or that could not be read
_TAKEN = "t"


def lineage_of(found: Recovered) -> str:
    """Of everything that could be read in the file."""
    pieces: list[str] = []
    for line in found.lines:
        plain = json.loads(line)
        pieces += [_LOST] * (plain["n"] - 1 - len(pieces))
        told = json.dumps([plain["event"], plain["at"]], sort_keys=True).encode()
        mark = _TAKEN if plain["event"].get("event") == "take_over" else "e"
        pieces.append(mark + hashlib.sha256(told).hexdigest()[: _PIECE - 1])
    return "".join(pieces)


def relation(kept: str, new: str) -> Relation:
    """How a lineage goes on another one: a copy of it that goes further or not, one that somebody else took over and
    went on with, or the same number with other content."""
    if not kept or not new:
        return "unknown"
    if at := parted_at(kept, new):
        return "branch" if _TAKEN in (kept[at - _PIECE], new[at - _PIECE]) else "conflict"
    return "newer" if (len(new), -new.count("-")) > (len(kept), -kept.count("-")) else "older"


def clash(path: Path) -> str:
    """The one sentence for a visit whose number another visit of the same folder has, with other content; or ''."""
    number, mine = number_in(path), lineage_of(read(path))
    others = (p for p in path.parent.glob("*.visit") if number and p != path and number_in(p) == number)
    with suppress(VisitError):
        if any(relation(lineage_of(read(p)), mine) == "conflict" for p in others):
            return say("store.other_visit", name=path.stem)
    return ""


def parted_at(kept: str, new: str) -> int:
    """Where the first entry ends that is not the same in both; 0 where there is none."""
    for start in range(0, min(len(kept), len(new)), _PIECE):
        a, b = kept[start : start + _PIECE], new[start : start + _PIECE]
        if a != b and _LOST not in (a, b):
            return start + _PIECE
    return 0


def branch_of(visit: str, kept: str, new: str) -> str:
    """The id of a copy that went another way, the same however far it goes."""
    at = parted_at(kept, new)
    return f"{visit}~{new[at - _PIECE + 1 : at]}"
