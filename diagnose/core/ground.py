"""Knowledge and the devices at a gate -> the knowledge of that gate.

Every entry that is a device's is copied for each device, its texts beginning with the device's name. References to it
lead to the same device's copy; the site's entries refer to every device's. Nothing behind this knows about gear.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

from diagnose.core.at_place import At
from diagnose.core.at_rules import calculation_at, rule_at
from diagnose.core.grounded import Grounding, Here
from diagnose.model.gear import Gear, at
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import Link
from diagnose.model.rules import Then


def ground(kb: KnowledgeBase, gear: Gear) -> KnowledgeBase:
    """The knowledge for a gate with these devices; the same where they are fewer than two. Remembers the last few."""
    base = kb.base or kb
    return kb if kb.gear == gear else _remembered(_Same(base), gear if len(gear) > 1 else ())


class _Same:
    """A knowledge base that is equal to itself only, so that it can be a key."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self.kb = kb

    def __hash__(self) -> int:
        return id(self.kb)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.kb is self.kb


@lru_cache(maxsize=8)
def _remembered(base: _Same, gear: Gear) -> KnowledgeBase:
    return _grounded(base.kb, gear) if gear else base.kb


def _grounded(kb: KnowledgeBase, gear: Gear) -> KnowledgeBase:
    places = Grounding(kb, gear)
    site, devices = At(places, None), [At(places, d) for d in gear]
    checks = _table(kb.checks, places.checks, site, devices, At.check)
    rules = _table(kb.rules, places.rules, site, devices, rule_at)
    log = kb.trip_log
    patterns = {i: replace(p, causes=site.ids(places.causes, p.causes)) for i, p in log.patterns.items()}
    return replace(
        kb,
        links=_links(kb, places, devices),
        effects=_table(kb.effects, places.effects, site, devices, At.effect),
        causes=_table(kb.causes, places.causes, site, devices, At.cause),
        checks=checks,
        findings={c.finding.id: c.finding for c in checks.values() if c.finding},
        rules={i: rule for i, rule in rules.items() if rule.then != Then()},
        calculations=_table(kb.calculations, places.calculations, site, devices, calculation_at),
        settings=replace(kb.settings, opening=site.ids(places.checks, kb.settings.opening)),
        trip_log=replace(log, patterns=patterns),
        dangers={i: replace(d, spared=site.spared(d.spared)) for i, d in kb.dangers.items()},
        duties={i: replace(d, spared=site.spared(d.spared)) for i, d in kb.duties.items()},
        pictures={c.picture: kb.pictures[c.picture] for c in checks.values() if c.picture},
        walk={},  # the first lesson is about no gate of anybody
        examples={},
        gear=gear,
        base=kb,
    )


def _table(
    entries: Mapping[str, Any], here: Here, site: At, devices: Iterable[At], one: Callable[[At, Any], Any]
) -> dict[str, Any]:
    """The site's entries once, the devices' for each device where they exist; sorted, as a loaded one is."""
    found = [one(site, e) for e in entries.values() if e.id not in here]
    found += [one(d, e) for d in devices for e in entries.values() if d.key in here.get(e.id, ())]
    return {e.id: e for e in sorted(found, key=lambda e: e.id)}


def _links(kb: KnowledgeBase, places: Grounding, devices: Iterable[At]) -> dict[str, Link]:
    """In the order of the signal, the devices' own after the one that names their place in it."""
    found: dict[str, Link] = {}
    for link in kb.links.values():
        own = [replace(link, id=at(link.id, d.key), says=d.named(link.says)) for d in devices]
        found |= {each.id: each for each in (link, *(own if link.id in places.links else ()))}
    return found
