"""What the knowledge gives names to, as frozen records: sources, kinds, cautions, access, complaints, proofs.

The YAML schema too, as `diagnose.model.knowledge` is.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

Words = tuple[str, ...]
Condition = Mapping[str, Words]  # fact name -> accepted values, all must hold
SourceKind = Literal["standard", "handbook", "paper", "common practice", "judgement"]
Who = Literal["caller", "technician", "electrician"]
RANKS: tuple[Who, ...] = get_args(Who)  # each may do what is for those before it
Of = Literal["", "site", "device"]  # whose an entry is; '': as its subject, or what it refers to, has it
Occasion = Literal["stop_work", "repair", "enclosure"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    id: str
    cite: str
    kind: SourceKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A folder of the knowledge. Ids of its checks, calculations and rules begin with `prefix` and '_'.

    `of`: whose its checks are, where they do not say so themselves.
    """

    id: str
    says: str
    prefix: str = ""
    of: Of = "site"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of sensor. `traits` say which entries written for many kinds concern it; `jargon` are its trade words,
    which no caller is asked in; `in_cases` is what field cases call it where that is not its id."""

    id: str
    says: str
    traits: Words = ()
    jargon: Words = ()
    in_cases: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """`stop_work` cautions come before anything else and must be confirmed; `tag` is what to write on the gate.

    `short` is what a stop-work order is about, in a few words, for as long as it stands; `meanwhile` what a caller
    does under the order until somebody comes. `otherwise`: what happens to somebody without it, told in practice.
    """

    id: str
    says: str
    short: str = ""
    stop_work: bool = False
    tell: str = ""
    tag: str = ""
    meanwhile: Words = ()
    otherwise: str = ""
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """A set-up cost that several checks share, paid once per visit. `each_device` has one of its own."""

    id: str
    says: str
    minutes: float
    enclosure: bool = False
    each_device: bool = False
    cautions: Words = ()
    who: Who = "technician"  # who may open it at least
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """`short` for small screens, where `says` is long. `comes_and_goes`: what is wrong is there only at times.
    `meanwhile`: what callers do until somebody comes."""

    id: str
    says: str
    short: str = ""
    caller_says: Words
    comes_and_goes: bool = False
    meanwhile: Words = ()
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DangerousWork:
    """Work that can hurt, known by its words: an entry whose steps have them carries one of the cautions.

    `words` is a regular expression in the language the knowledge is written in. Work that only an electrician may do
    needs none. `spared`: entries where the words mean something else, and what. `callers_only`: the words matter only
    in what a caller does himself, where they are allowed with one of the cautions; without any they never are.
    `least`: who may do it at least; without cautions that is all it asks.
    """

    id: str
    words: str
    cautions: Words = ()
    spared: Mapping[str, str] = field(default_factory=dict)
    never_for_callers: bool = False
    callers_only: bool = False
    least: Who = "caller"
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """A remedy whose steps have these `words` touches one of the proofs in `touches`; `spared`: where not, why."""

    id: str
    words: str
    touches: Words
    spared: Mapping[str, str] = field(default_factory=dict)
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What is proved before a gate goes back into service: owed once a repair touches it, and as this says.

    `after`: also on these occasions, on the first of them that happened; `after_caution`: also after a check that
    carries the caution, for the reason given; `when`: both only where the visit's set-up says so. A `protective` one
    stands between people and the gate: it must pass, or be not applicable with a reason. `never_waved_after` these
    stop-work orders 'not applicable' is no answer.
    """

    id: str
    says: str
    protective: bool = False
    after: tuple[Occasion, ...] = ()
    after_caution: Mapping[str, str] = field(default_factory=dict)
    when: Condition = field(default_factory=dict)
    never_waved_after: Words = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A link of the signal chain. Every device has its own, or the site has one.

    `short` is its one word where people are shown how the chain stands; without it, it is not shown: no fault starts
    there.
    """

    id: str
    says: str
    short: str = ""
    of: Of = "site"


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """What causes have in common: where in the installation they are. `link` is a key of links."""

    id: str
    says: str
    link: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A word of the trade, explained in words that need no others. `words`: what else people write for it."""

    id: str
    says: str
    means: str
    words: Words = ()
    link: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkStep:
    """One link of the first lesson: what checks show at a sound gate, and with this link broken. Then a question with
    its `answers`; `right` counts from 1."""

    id: str
    link: str
    tells: str
    sound: Mapping[str, str | float]
    breaks: str
    broken: Mapping[str, str | float]
    ask: str
    answers: Words
    right: int
    because: str
    picture: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedGate:
    """A gate worked for a trainee: `steps` are checks in order, each with why. `given`: how many of them are done for
    him, who does the rest; 0: all, with the remedy and its proof, and `repaired` why that rests on evidence."""

    id: str
    says: str
    complaint: str
    words: str
    cause: str
    shows: Mapping[str, str | float]
    given: int = 0
    repaired: str = ""
    steps: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What a pattern in a trip log means. `when` and `compared` are answers, '' for none; `causes` are those known by
    name where no answer leads to them."""

    when: str = ""
    compared: str = ""
    causes: Words = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlastsRain:
    """The check whether the trouble stays once the rain has stopped, and its answers."""

    check: str
    stays: str
    stops: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TripLog:
    """How a trip log answers a visit's checks. `vague` answers of `when` leave open when the trouble shows."""

    when: str
    vague: Words
    compared: str
    no_pattern: str
    outlasts_rain: OutlastsRain
    patterns: Mapping[str, Pattern]
