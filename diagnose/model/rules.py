"""Rules and calculations of the knowledge base, as frozen records; they are the YAML schema as well."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.model.named import Condition, Of, Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    says: str
    recheck: Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Then:
    derive: Mapping[str, str] = field(default_factory=dict)
    settle: Mapping[str, str] = field(default_factory=dict)
    exclude: Words = ()
    caution: Words = ()
    stop_work: str = ""
    contradiction: Contradiction | None = None
    unlock: Words = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Positive, ground, conjunctive: every named fact must be known and have one of the values.

    It is for each device where it asks for a fact of a device. `of: site`: what it derives is still the site's.
    `elsewhere`: values that mean a device mean any other than the one that the rule is for.
    """

    id: str
    says: str
    of: Of = ""
    elsewhere: bool = False
    when: Condition
    then: Then
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """A fact computed by a named calculator from answers and profile numbers.

    `inputs` maps the calculator's parameter names to fact names; `constants` gives fixed numbers. It is for each
    device where an input is a device's. `of: site`: it does without those where there are several.
    """

    id: str
    says: str
    of: Of = ""
    calculator: str
    inputs: Mapping[str, str]
    constants: Mapping[str, float] = field(default_factory=dict)
    unit: str = ""  # of the numbers it says; where it is left out, that of the first reading given
    source: str
