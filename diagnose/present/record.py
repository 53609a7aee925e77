"""What a record holds: plain values only, the same for the page, the PDF and the JSON beside them."""

from dataclasses import dataclass
from typing import Literal

from diagnose.present.profile import Fitted

Version = Literal["customer", "full"]


@dataclass(frozen=True, slots=True)
class HandOver:
    """Somebody else went on with the visit. `by` '' when no name was given."""

    at: str
    by: str
    role: str


@dataclass(frozen=True, slots=True)
class Times:
    """When the visit began, was last worked on and ended last, in words; and who took it over when.

    `jumps`: where the clock that these times are from was set. `lost`: what is missing in the visit, or damaged.
    """

    began: str
    ended: str
    hand_overs: tuple[HandOver, ...] = ()
    closed: str = ""
    jumps: tuple[str, ...] = ()
    lost: str = ""


@dataclass(frozen=True, slots=True)
class RecordedOrder:
    """A stop-work order: whom to tell, what the tag says, and how it stands. `lifted`: by the return to service."""

    says: str
    short: str
    tell: str
    tag: str
    confirmed: bool
    state: str
    lifted: bool


@dataclass(frozen=True, slots=True)
class Checked:
    """One check. `limits` are what the reading was held against, each with its arithmetic.

    `replaced` is what somebody else had said before. Not `counted`: a later answer made it meaningless.
    """

    asked: str
    said: str
    limits: tuple[str, ...] = ()
    by: str = ""
    note: str = ""
    replaced: str = ""
    counted: bool = True


@dataclass(frozen=True, slots=True)
class RecordedStage:
    """The checks made between two repairs."""

    says: str
    checks: tuple[Checked, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What one finding weighs for a cause against its nearest rival, in decibans (10 is ten times as likely)."""

    says: str
    decibans: float


@dataclass(frozen=True, slots=True)
class RecordedCause:
    """One cause of the ranked list. `evidence` adds up to the log odds against `rival`; empty for customers."""

    says: str
    explain: str
    likely: str
    probability: float
    rival: str = ""
    evidence: tuple[Evidence, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class RecordedRepair:
    """One repair, what was to prove it, and what the proof showed. `proved`: pending, passed,
    failed, or worked (the trouble went on, but for another cause)."""

    says: str
    note: str
    proof: str
    result: str
    reading: str
    passed: bool
    proved: str = "pending"


@dataclass(frozen=True, slots=True)
class RuledOut:
    """A cause that was worth thinking of at the start, and what spoke against it most."""

    says: str
    by: str


@dataclass(frozen=True, slots=True)
class RecordedEnd:
    """How the visit had ended before it was opened again or taken over: in a sentence, and what was said then."""

    says: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """A check that was made before a repair and again after it."""

    asked: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class RecordedPhoto:
    """A picture beside the visit: the name of its file, what it belongs to, what was said of it and by whom."""

    name: str
    belongs: str
    says: str
    by: str


@dataclass(frozen=True, slots=True)
class Proven:
    """One line of the return-to-service checklist."""

    says: str
    why: str
    protective: bool
    result: str
    reading: str


@dataclass(frozen=True, slots=True)
class Record:
    """The record of one visit. `serving`: the gate is in use again.

    `visit` is its number, `minutes` what it took. `people` says who did which part; `facts` what was said at
    its end, `earlier` how it had ended before; `notes` and `corrections` are people's own words; `aside`:
    answers about devices that are not named any more. `explain` what the mended cause is; `strips` how the
    signal chain stands. `meanwhile`: what a caller was told to do until somebody comes. `profile` and
    `knowledge` are empty for customers, `suspects` and `strips` too once the trouble is mended.
    """

    version: Version
    site: str
    times: Times
    role: str
    people: tuple[str, ...]
    sensors: tuple[str, ...]
    profile: tuple[Fitted, ...]
    complaint: str
    words: str
    orders: tuple[RecordedOrder, ...]
    conclusion: str
    explain: str
    strips: tuple[str, ...]
    suspects: tuple[RecordedCause, ...]
    repairs: tuple[RecordedRepair, ...]
    compared: tuple[Compared, ...]
    stages: tuple[RecordedStage, ...]
    checklist: tuple[Proven, ...]
    meanwhile: tuple[str, ...]
    left: tuple[str, ...]
    outcome: str
    serving: bool
    reason: str
    cautions: tuple[str, ...]
    signatures: tuple[str, ...]
    knowledge: str
    program: str
    visit: str = ""
    minutes: str = ""
    ruled_out: tuple[RuledOut, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    earlier: tuple[RecordedEnd, ...] = ()
    notes: tuple[str, ...] = ()
    corrections: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()
    photos: tuple[RecordedPhoto, ...] = ()
