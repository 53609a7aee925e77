"""Which entries of the knowledge exist at which device of a gate.

An entry is not grounded for a device where nothing could be left of it: of another kind, without the job, or built on
a fact that the device does not have.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.calc.registry import FOR_RULES
from diagnose.core.belongs import Belongs
from diagnose.model.gear import Device, Gear
from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.rules import Calculation, Rule

Keys = tuple[str, ...]  # of devices, in the order of the gear
Here = Mapping[str, Keys]  # for every entry that is a device's: where it exists


@dataclass(frozen=True)
class Grounding:
    """Where each entry exists, for one knowledge base and one gear."""

    kb: KnowledgeBase
    gear: Gear

    @cached_property
    def belongs(self) -> Belongs:
        return Belongs(self.kb)

    @cached_property
    def keys(self) -> Keys:
        return tuple(d.key for d in self.gear)

    def _where(self, ids: Iterable[str], there: Callable[[str, Device], bool]) -> Here:
        return {i: tuple(d.key for d in self.gear if there(i, d)) for i in sorted(ids)}

    @cached_property
    def links(self) -> Here:
        return self._where(self.belongs.links, lambda _i, _d: True)

    @cached_property
    def effects(self) -> Here:
        return self._where(self.belongs.effects, lambda i, d: d.has(self.kb.effects[i].job))

    @cached_property
    def causes(self) -> Here:
        there = self._where(self.belongs.causes, lambda i, d: self._acts(self.kb.causes[i], d))
        return {**there, **self._absent(self.kb.causes)}

    def _absent(self, entries: Mapping[str, Cause] | Mapping[str, Check]) -> Here:
        """The site's own that concern only kinds that are not here: they exist nowhere."""
        kinds = {d.kind for d in self.gear}
        return {i: () for i, e in entries.items() if e.devices and kinds.isdisjoint(e.devices)}

    def _acts(self, cause: Cause, device: Device) -> bool:
        """Of the kind, and of what it does to the chain something is left for the jobs of the device."""
        ways = [cause.brings, *(way.brings for way in cause.one_of.values())]
        brought = [e for brings in ways for e in brings if e in self.belongs.effects]
        left = not brought or any(device.key in self.effects[e] for e in brought)
        return left and (not cause.devices or device.kind in cause.devices)

    @cached_property
    def facts(self) -> Mapping[str, frozenset[str]]:
        """For each device the facts that something establishes there."""
        return {d.key: self._established(d) for d in self.gear}

    def _established(self, device: Device) -> frozenset[str]:
        kb, belongs, found = self.kb, self.belongs, set[str]()
        checks = [c for c in kb.checks.values() if c.id in belongs.checks and _of_kind(c, device)]
        before = -1
        while len(found) > before:
            before = len(found)
            found |= {c.fills or c.id for c in checks if self._have(c.only_if, found)}
            found |= {c for c in belongs.calculations if self._runs(kb.calculations[c], found)}
            rules = (kb.rules[r] for r in belongs.rules if self._have(kb.rules[r].when, found))
            found |= {fact for rule in rules for fact in rule.then.derive if fact in belongs.facts}
            found |= {
                f for r in kb.rules.values() if r.id not in belongs.rules for f in r.then.derive
            } & belongs.facts
        return frozenset(found)

    def _have(self, names: Iterable[str], found: Iterable[str]) -> bool:
        return all(self._known(name, found) for name in names)

    def _known(self, name: str, found: Iterable[str]) -> bool:
        if self.belongs.is_fact(name):
            return name in found or name.startswith("device.")
        return name not in self._unasked

    @cached_property
    def _unasked(self) -> frozenset[str]:
        """Facts of the site that nobody is asked here, and what is calculated or derived from them only."""
        lost = {i for i in self._absent(self.kb.checks) if not self.kb.checks[i].fills}
        before = -1
        while len(lost) > before:
            before = len(lost)
            lost |= {c.id for c in self.kb.calculations.values() if not lost.isdisjoint(c.inputs.values())}
            left = {
                fact for rule in self.kb.rules.values() if lost.isdisjoint(rule.when) for fact in rule.then.derive
            }
            lost |= {fact for rule in self.kb.rules.values() for fact in rule.then.derive} - left
        return frozenset(lost - self.belongs.facts)

    def _runs(self, calculation: Calculation, found: Iterable[str]) -> bool:
        calculator = FOR_RULES.get(calculation.calculator)
        needed = calculator.required if calculator else ()
        given = [fact for name, fact in calculation.inputs.items() if name in needed]
        some = any(self.belongs.is_fact(f) and self._known(f, found) for f in calculation.inputs.values())
        return some and self._have(given, found)

    def has_fact(self, name: str, key: str) -> bool:
        return self._known(name, self.facts[key])

    @cached_property
    def checks(self) -> Here:
        def there(i: str, device: Device) -> bool:
            check = self.kb.checks[i]
            scored = [check.finding.fact] if check.finding else []
            return _of_kind(check, device) and self._have([*check.only_if, *scored], self.facts[device.key])

        return {**self._where(self.belongs.checks, there), **self._absent(self.kb.checks)}

    @cached_property
    def calculations(self) -> Here:
        there = self._where(
            self.belongs.calculations, lambda i, d: self._runs(self.kb.calculations[i], self.facts[d.key])
        )
        return {**there, **dict.fromkeys(self._unasked & self.kb.calculations.keys(), ())}

    @cached_property
    def rules(self) -> Here:
        idle = (r.id for r in self.kb.rules.values() if not self._unasked.isdisjoint(r.when))
        return {
            **self._where(self.belongs.rules, lambda i, d: self._fires(self.kb.rules[i], d)),
            **dict.fromkeys(idle, ()),
        }

    def _fires(self, rule: Rule, device: Device) -> bool:
        """Whether every condition can hold at the device."""
        meant = (
            any(v not in each or rule.elsewhere or device.has(each[v]) for v in values)
            for fact, values in rule.when.items()
            if (each := self.belongs.each(fact))
        )
        return self._have(rule.when, self.facts[device.key]) and all(meant)

    def with_job(self, job: str) -> Keys:
        return tuple(d.key for d in self.gear if d.has(job))


def _of_kind(check: Check, device: Device) -> bool:
    return not check.devices or device.kind in check.devices
