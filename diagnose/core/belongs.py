"""Whose each entry of the knowledge is: the site's, of which there is one, or a device's, of which there are several.

Checks, causes and links say so, themselves or by their subject, effects and family. The rest follows: a fact is a
device's where a check of a device establishes it, or where it is calculated or derived from one that is.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.rules import Rule

OCCASION = "occasion"  # the link of when trouble comes, which says nothing about where it is


@dataclass(frozen=True)
class Belongs:
    """The ids of a knowledge base that are a device's."""

    kb: KnowledgeBase

    @cached_property
    def links(self) -> frozenset[str]:
        return frozenset(link.id for link in self.kb.links.values() if link.of == "device")

    @cached_property
    def effects(self) -> frozenset[str]:
        return frozenset(e.id for e in self.kb.effects.values() if e.link in self.links)

    @cached_property
    def checks(self) -> frozenset[str]:
        return frozenset(c.id for c in self.kb.checks.values() if c.of == "device")

    @cached_property
    def causes(self) -> frozenset[str]:
        return frozenset(c.id for c in self.kb.causes.values() if self._of_device(c))

    def _of_device(self, cause: Cause) -> bool:
        """As it says; else what breaks a link of the site before any of a device is the site's; else a cause is of
        what its family is of, or a device's where it is of some kinds of sensor only."""
        if cause.of:
            return cause.of == "device"
        begun = [cause.brings, *(way.brings for way in cause.one_of.values())]
        links = {self.kb.effects[e].link for brings in begun for e in brings if e in self.kb.effects} - {OCCASION}
        first = next((link for link in self.kb.links if link in links), "")
        return (not first or first in self.links) and (bool(cause.devices) or self.of_family(cause))

    def of_family(self, cause: Cause) -> bool:
        """Whether the family of the cause lies at a device. What a cause of the site's brings about at devices, it
        brings about at every one then, else at one or another: the leaf hangs into one beam."""
        family = self.kb.families.get(cause.family)
        return family is not None and family.link in self.links

    @cached_property
    def facts(self) -> frozenset[str]:
        """All but those of the profile, which `is_fact` knows by their name."""
        found = {c.fills or c.id for c in self.kb.checks.values() if c.id in self.checks}
        before = -1
        while len(found) > before:
            before = len(found)
            found |= {
                c.id for c in self.kb.calculations.values() if c.of != "site" and self._any(c.inputs.values(), found)
            }
            rules = (r for r in self.kb.rules.values() if r.of != "site" and self._asks(r, found))
            found |= {fact for rule in rules for fact in rule.then.derive}
        return frozenset(found)

    def is_fact(self, name: str) -> bool:
        return name in self.facts or name.startswith("device.")

    @cached_property
    def rules(self) -> frozenset[str]:
        return frozenset(r.id for r in self.kb.rules.values() if self._asks(r, self.facts))

    @cached_property
    def calculations(self) -> frozenset[str]:
        return frozenset(self.kb.calculations) & self.facts

    def _any(self, names: Iterable[str], found: Iterable[str]) -> bool:
        return any(name in found or name.startswith("device.") for name in names)

    def _asks(self, rule: Rule, found: Iterable[str]) -> bool:
        return self._any(rule.when, found) or any(
            v in self.each(f) for f, values in rule.when.items() for v in values
        )

    def each(self, fact: str) -> Mapping[str, str]:
        """The values of a fact of the site that mean one device, with the job that it has."""
        check = self.kb.checks.get(fact)
        return check.each if check and check.id not in self.checks else {}


def strays(belongs: Belongs) -> Iterable[tuple[tuple[str, ...], str]]:
    """What the site's entries ask of one device without saying which: (where, what)."""
    kb = belongs.kb
    for check in kb.checks.values():
        if check.id not in belongs.checks:
            yield from ((("checks", check.id), name) for name in _asked(check) if belongs.is_fact(name))
    for effect in kb.effects.values():
        if effect.id not in belongs.effects and effect.calculated and belongs.is_fact(effect.calculated.fact):
            yield ("effects", effect.id, "calculated"), effect.calculated.fact
    for rule in kb.rules.values():
        if rule.id not in belongs.rules:
            yield from (
                (("rules", rule.id, "then"), c) for c, value in rule.then.settle.items() if value in belongs.each(c)
            )


def _asked(check: Check) -> Iterable[str]:
    scored = [check.finding.fact] if check.finding else []
    return (*check.only_if, *scored, *filter(None, [check.fills]))
