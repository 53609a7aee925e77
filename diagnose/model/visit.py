"""What is known on one visit, as frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from diagnose.model.gear import Gear, at

Value = str | float
Fact = tuple[str, str]  # (name, word); numbers never reach the rules
Role = Literal["technician", "help_desk"]
CALLER = "caller"
SOMETHING_ELSE = "something_else"  # no answer of the check fits: what the person says is the `note`
NO_ANSWER = ("dont_know", "cant_check", "skip", SOMETHING_ELSE)


@dataclass(frozen=True, slots=True)
class Setup:
    """Who asks, with what, about which installation. `tools` None means: all of them at hand."""

    role: Role = "technician"
    electrician: bool = False
    tools: frozenset[str] | None = None
    devices: tuple[str, ...] = ()  # sensor families on site; empty = not known, all considered
    profile: Mapping[str, Value] = field(default_factory=dict)
    gear: Gear = ()  # the devices by name; () = not named, `devices` are all that is known

    @property
    def facts(self) -> Mapping[str, Value]:
        """Every fact of the profiles. With several devices each has its own, named as for that device; what the
        site's profile says, it says of every one."""
        if len(self.gear) < 2:
            return {**self.profile, **{name: value for d in self.gear for name, value in d.facts.items()}}
        site = {name: value for name, value in self.profile.items() if not name.startswith("device.")}
        each = ((d, name, value) for d in self.gear for name, value in {**site, **d.facts}.items())
        return {**site, "gear": "several", **{at(name, d.key): value for d, name, value in each}}


@dataclass(frozen=True, slots=True)
class Earlier:
    """What somebody else had said before, and who."""

    value: Value
    by: str
    note: str = ""  # the words of SOMETHING_ELSE


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer. `value` is an option id, 'yes'/'no', a number in the check's unit, or one of NO_ANSWER.

    `by` says who gave it; `replaced` what somebody else had said before. `heard` in that person's own words,
    which are the `note`, without having been asked. `confirmed`: given twice, so it is called into question no more.
    """

    check: str
    value: Value
    sure: bool = True
    by: str = ""
    note: str = ""
    replaced: Earlier | None = None
    heard: bool = False
    confirmed: bool = False

    @property
    def from_caller(self) -> bool:
        """Told by a caller on the phone, not seen by whoever asks."""
        return self.by.startswith(CALLER)

    @property
    def says_something(self) -> bool:
        return self.value not in NO_ANSWER

    @property
    def worth_showing(self) -> bool:
        """An answer, or the words of somebody whom no answer fitted."""
        return self.says_something or self.value == SOMETHING_ELSE

    @property
    def told(self) -> tuple[Value, str]:
        """What was answered: the value, and the words where they are all that it says."""
        return self.value, self.note if self.value == SOMETHING_ELSE else ""

    @property
    def made_here(self) -> bool:
        """Asked, looked at or measured on this visit; not only heard."""
        return self.says_something and not self.heard


@dataclass(frozen=True, slots=True)
class Attempt:
    """A repair that did not end the trouble. `answers` were new since the attempt before; `carried` still held.

    `surely_mended`: the repair itself was proved good, so what goes on is something else.
    """

    cause: str
    answers: tuple[Answer, ...]
    carried: tuple[Answer, ...] = ()
    surely_mended: bool = False


@dataclass(frozen=True, slots=True, order=True)
class Firing:
    """One rule that fired, with the facts that made it fire."""

    rule: str
    premises: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Observation:
    """A finding with the state that was established; `settled_by` names the rule, if any.

    `sure` False weakens it, and so does, less, that a caller told it or that it was heard in somebody's words.
    """

    finding: str
    state: str
    sure: bool = True
    settled_by: str = ""
    from_caller: bool = False
    heard: bool = False
