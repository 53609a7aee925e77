"""What is kept of a visit for later, as frozen records of plain values."""

from dataclasses import dataclass
from typing import Literal

from diagnose.model.visit import Answer, Role

State = Literal["open", "concluded", "finished"]
Proof = Literal["pending", "passed", "failed"]


@dataclass(frozen=True, slots=True)
class Remedied:
    """A remedy that was carried out, and what its proof said; `cause` is an id of the knowledge."""

    cause: str
    proof: Proof = "pending"
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitEnd:
    """How a visit ended. `causes` are those that were found and mended, ids of the knowledge.

    `proof_passed`: every proof of the remedies was done and passed. `in_service` False: not in use after the visit.
    `how` is the way it ended, as the session names it; '' in what former versions kept.
    """

    causes: tuple[str, ...]
    remedy: str = ""
    proof_passed: bool = False
    in_service: bool = False
    note: str = ""
    how: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitRecord:
    """One visit. `id` is the name of its file or a UUID and never changes; `knowledge` is a digest.

    `began`, `ended` and `changed` are ISO 8601 times with their offset; the history keeps them in UTC to the
    second. `ended` '': not ended. `changed` is when the last event came; '' = `ended`, else `began`. Of two versions
    of a visit the one with more `entries` is newer, whatever the clocks said; `changed` decides between equals.
    `devices` are sensor families; `outcome` None: not known. `took` are minutes by the clock without breaks,
    `expected` what the knowledge counts for the same work; 0: not known. `lineage` tells copies of this
    visit from others with its number; '': not known.
    """

    id: str
    began: str
    site: str = ""
    devices: tuple[str, ...] = ()
    role: Role = "technician"
    ended: str = ""
    changed: str = ""
    entries: int = 0
    complaint: str = ""
    words: str = ""
    knowledge: str = ""
    state: State = "open"
    answers: tuple[Answer, ...] = ()
    outcome: VisitEnd | None = None
    repairs: tuple[Remedied, ...] = ()
    took: float = 0.0
    expected: float = 0.0
    lineage: str = ""


@dataclass(frozen=True, slots=True, order=True)
class Confirmed:
    """The causes of one visit's trouble, proved by mending them; `devices` on that site, () when not known."""

    visit: str
    devices: tuple[str, ...]
    causes: tuple[str, ...]
