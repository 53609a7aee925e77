"""What the knowledge base says, as frozen records.

These records are also the YAML schema: `diagnose.kb` validates each entry straight into them, so a
field named here is a field a practitioner may write, and nothing else is.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal

from diagnose.model.gear import Gear
from diagnose.model.heard import Hearing, Speech
from diagnose.model.named import (
    Access,
    Caution,
    Complaint,
    Condition,
    DangerousWork,
    Duty,
    Family,
    Kind,
    Link,
    Of,
    Proof,
    Source,
    Subject,
    Term,
    TripLog,
    WalkStep,
    Who,
    Words,
    WorkedGate,
)
from diagnose.model.rules import Calculation, Rule
from diagnose.model.settings import Scales, Settings

Strength = Annotated[float | str, "a probability or a word of scales.strength"]

CheckKind = Literal["choice", "yes_no", "quantity"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """What to do. `hides_fault` marks a workaround that must never rank above the fix."""

    steps: Words
    minutes: float
    parts: Words = ()
    tools: Words = ()
    who: Who = "technician"
    access: str = ""
    cautions: Words = ()
    touches: Words = ()  # what must be proved again afterwards: keys of proofs
    hides_fault: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CallerRemedy:
    """What a caller can safely do about a cause himself; `proof` is what he can see then, watching so many minutes.

    `hands_near`: hands come near the gate, so what `settings.caller_before` and `caller_after` name is said around
    the steps. `cautions`: further ones, said before them.
    """

    steps: Words
    minutes: float
    proof: str
    proof_minutes: float = 10.0
    hands_near: bool = True
    cautions: Words = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculated:
    """Further effects that follow from a fact of the profile: `gives` maps each of its words to effects.

    Where the fact is not known, `unknown` says how often each word is the case at gates at large.
    """

    fact: str
    gives: Mapping[str, Mapping[str, Strength]]
    unknown: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """An abnormal condition of one link of the signal chain, whatever caused it.

    `shows` is as a cause's `signs`; `brings` further effects, at this link or a later one, and how surely.
    `blocks`: links whose effects no longer get to this link or past it (a welded contact hides what the sensor sees).
    `hides`: at these links nothing else shows while this is there (without supply a dirty window tells nothing).
    `rests`: in what share of visits nothing of a cause that brings it shows but what is at the same link, because the
    trouble is not there when somebody looks (it comes in rain, and it is dry); `at_rest` is there then instead.
    `proved`: a regular expression; the proof of every cause that brings this has words of it - occasion or watch.
    `complaints` is what people notice of it; a cause that brings the effect need not repeat them. `job`: only devices
    with that job have it.
    """

    id: str
    link: str
    says: str
    shows: Mapping[str, Mapping[str, Strength]] = field(default_factory=dict)
    brings: Mapping[str, Strength] = field(default_factory=dict)
    calculated: Calculated | None = None
    blocks: Words = ()
    hides: Words = ()
    rests: float = 0.0
    at_rest: str = ""
    proved: str = ""
    complaints: Mapping[str, str] = field(default_factory=dict)
    job: str = ""
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One of several things that a cause can do: in which `share` of its cases, and which effects it brings then."""

    share: float
    brings: Mapping[str, Strength]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """Something that can be wrong. `complaints` says what people notice, `common` how often it turns up.

    `brings` names the effects it has on the signal chain, and how surely; `one_of` effects of which it has one set
    or another. What those effects show need not be said again.
    `signs` gives, per finding, how often this cause alone shows each state after the first of its own account; the
    rest of the mass belongs to the first state. Then and several causes combine by noisy-MAX; strengths follow
    the net (Diez) convention: what the cause alone would show were there no leak.
    `caller` is what a caller may do about it himself, on the phone; None where he may do nothing.
    """

    id: str
    says: str
    explain: str
    family: str
    devices: Words = ()  # kinds of sensor; in the text also traits; none: every kind
    of: Of = ""
    common: str
    complaints: Mapping[str, str] = field(default_factory=dict)
    brings: Mapping[str, Strength] = field(default_factory=dict)
    one_of: Mapping[str, Way] = field(default_factory=dict)
    signs: Mapping[str, Mapping[str, Strength]] = field(default_factory=dict)
    test: str
    remedy: Remedy
    proof: str
    proof_minutes: float = 5.0
    cautions: Words = ()
    source: str
    inseparable_from: Mapping[str, str] = field(default_factory=dict)
    caller: CallerRemedy | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What an answer says about the causes; scored at most once.

    `states` run from normal to most abnormal; each maps to the fact values that mean it.
    `leak` says how often each state after the first turns up when no cause that bears on it is present;
    the rest of the mass belongs to the first state.
    `called` says a state in words where no option of the check does. `others`: what it shows at one device while the
    cause is at another.
    """

    id: str = ""
    says: str = ""
    called: Mapping[str, str] = field(default_factory=dict)
    fact: str = ""
    check: str = ""
    states: Mapping[str, Words]
    leak: Mapping[str, Strength]
    others: Mapping[str, Strength] = field(default_factory=dict)
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A question, a look, a test or a measurement.

    `each`: options of a check of the site that mean one device, with the job which that has; '' for any device.
    """

    id: str
    ask: str
    ask_caller: str = "never"
    stand: str = ""  # where the caller stands while looking
    help: str
    good: str
    bad: str
    kind: CheckKind
    options: Mapping[str, str] = field(default_factory=dict)
    caller_options: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    plausible: tuple[float, float] | None = None
    hard: tuple[float, float] | None = None
    minutes: float
    access: str = ""
    tools: Words = ()
    who: Who = "technician"
    devices: Words = ()
    of: Of = ""
    each: Mapping[str, str] = field(default_factory=dict)
    only_if: Condition = field(default_factory=dict)
    locked: bool = False
    lasts: bool = False  # it asks about the past, the site or a pattern in time: no repair changes that
    runs_gate: bool = False  # the gate has to run under power or stand on automatic for it
    needs: Words = ()  # context checks to ask just before this one
    fills: str = ""  # the profile fact this answer supplies
    cautions: Words = ()
    hazard: bool = False
    picture: str = ""  # the drawing that shows how it is done
    finding: Finding | None = None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowledgeBase:
    """Everything loaded, keyed by id; `digest` identifies the exact content.

    `gear`: the devices that it was grounded for, from `base`. `own`: it is not what came with the program.
    """

    digest: str
    subjects: Mapping[str, Subject]
    sources: Mapping[str, Source]
    cautions: Mapping[str, Caution]
    dangers: Mapping[str, DangerousWork]
    duties: Mapping[str, Duty]
    access: Mapping[str, Access]
    complaints: Mapping[str, Complaint]
    effects: Mapping[str, Effect]
    causes: Mapping[str, Cause]
    checks: Mapping[str, Check]
    findings: Mapping[str, Finding]
    rules: Mapping[str, Rule]
    calculations: Mapping[str, Calculation]
    kinds: Mapping[str, Kind]
    traits: Mapping[str, str]
    tools: Mapping[str, str]
    proofs: Mapping[str, Proof]
    families: Mapping[str, Family]
    links: Mapping[str, Link]  # of the installation, in the order a signal takes
    pictures: Mapping[str, str]  # id -> SVG text, safe to inline into a page
    scales: Scales
    settings: Settings
    trip_log: TripLog
    heard: Mapping[str, Hearing]
    speech: Speech = field(default_factory=Speech)
    terms: Mapping[str, Term] = field(default_factory=dict)
    walk: Mapping[str, WalkStep] = field(default_factory=dict)  # in the order of the lesson
    examples: Mapping[str, WorkedGate] = field(default_factory=dict)
    gear: Gear = ()
    base: "KnowledgeBase | None" = None
    own: bool = False

    @property
    def devices(self) -> Mapping[str, str]:
        """Kind of sensor -> what it is called."""
        return {kind.id: kind.says for kind in self.kinds.values()}
