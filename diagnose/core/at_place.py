"""How an entry of the knowledge reads at one device, or at the site, of a gate with several devices."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from diagnose.core.grounded import Grounding, Here
from diagnose.model.gear import Device, at
from diagnose.model.knowledge import (
    Calculated,
    Cause,
    Check,
    Effect,
    Finding,
    Remedy,
    Strength,
    Way,
)
from diagnose.model.named import Condition, Words
from diagnose.words import say

MOST = 0.99  # of a distribution's later states, so that the first keeps a share
Shown = Mapping[str, Strength]


@dataclass(frozen=True)
class At:
    """How entries read at one device, or at the site where `device` is None."""

    places: Grounding
    device: Device | None

    @property
    def key(self) -> str:
        return self.device.key if self.device else ""

    def named(self, text: str) -> str:
        """A text that says which device it is about."""
        if not self.device or not text:
            return text
        return say("knowledge.of_device", device=self.device.name[:1].upper() + self.device.name[1:], text=text)

    def id(self, entry: str) -> str:
        return at(entry, self.key) if self.device else entry

    def ids(self, here: Here, entries: Iterable[str]) -> Words:
        """References: to the same device's entry, from the site to every device's, else to the site's."""
        return tuple(i for entry in entries for i in self.each(here, entry))

    def each(self, here: Here, entry: str) -> Words:
        if entry not in here:
            return (entry,)
        return tuple(at(entry, key) for key in here[entry] if key == self.key or not self.device)

    def fact(self, name: str) -> str:
        return self.id(name) if self.device and self.places.belongs.is_fact(name) else name

    def facts(self, name: str) -> Words:
        """The facts that the site establishes for its devices where it establishes a device's."""
        if self.device or not self.places.belongs.is_fact(name):
            return (self.fact(name),)
        return tuple(at(name, key) for key in self.places.keys)

    def condition(self, condition: Condition, elsewhere: bool = False) -> Condition:
        """`elsewhere`: said of any other device."""
        if elsewhere:
            others = [At(self.places, d) for d in self.places.gear if d.key != self.key]
            return {
                self.fact(f): tuple(dict.fromkeys(v for o in others for v in o._values(f, values)))
                for f, values in condition.items()
            }
        return {self.fact(f): self._values(f, values) for f, values in condition.items()}

    def _values(self, fact: str, values: Iterable[str]) -> Words:
        """Values that mean a device are said of this one, or of every one."""
        each = self.places.belongs.each(fact)
        return tuple(v for value in values for v in self.options(each, value))

    def options(self, each: Mapping[str, str], value: str) -> Words:
        if value not in each:
            return (value,)
        return tuple(at(value, k) for k in self.places.with_job(each[value]) if k == self.key or not self.device)

    def spared(self, entries: Mapping[str, str]) -> Mapping[str, str]:
        """Reasons by check or cause."""
        here = {**self.places.checks, **self.places.causes}
        return {i: why for entry, why in entries.items() for i in self.each(here, entry)}

    # -- checks and findings

    def check(self, check: Check) -> Check:
        each = check.each if not self.device else {}
        return replace(
            check,
            id=self.id(check.id),
            ask=self.named(check.ask),
            ask_caller=check.ask_caller if check.ask_caller == "never" else self.named(check.ask_caller),
            options=self._texts(each, check.options),
            caller_options=self._texts(each, check.caller_options),
            only_if=self.condition(check.only_if),
            each={},
            needs=self.ids(self.places.checks, check.needs),
            fills=self.fact(check.fills) if check.fills else "",
            finding=self._finding(each, check.finding) if check.finding else None,
        )

    def _finding(self, each: Mapping[str, str], finding: Finding) -> Finding:
        own = {s: means[0] for s, means in finding.states.items() if len(means) == 1 and means[0] in each}
        states: dict[str, Words] = {}
        for state, means in finding.states.items():
            values = tuple(v for value in means for v in self.options(each, value))
            states |= {v: (v,) for v in values} if state in own else {state: values}
        return replace(
            finding,
            id=self.id(finding.id),
            check=self.id(finding.check),
            fact=self.fact(finding.fact),
            says=self.named(finding.says),
            called=self._texts(each, finding.called),
            states=states,
            leak=self._shared(each, finding.leak),
        )

    def _texts(self, each: Mapping[str, str], texts: Mapping[str, str]) -> Mapping[str, str]:
        """What options say; one that means a device is said of each."""
        found: dict[str, str] = {}
        for option, text in texts.items():
            if option not in each:
                found[option] = text
            else:
                devices = [d for d in self.places.gear if d.has(each[option])]
                found |= {at(option, d.key): At(self.places, d).named(text) for d in devices}
        return found

    # -- what is shown

    def _shown(self, of: Mapping[str, Shown], share: bool = False) -> dict[str, Shown]:
        """`share`: at one of the devices, nobody knows at which."""
        found: dict[str, Shown] = {}
        checks = self.places.checks
        for finding, shown in of.items():
            there = self.each(checks, finding)
            if finding in checks:
                dealt = self._dealt(shown, len(there)) if share and len(there) > 1 else shown
                found |= dict.fromkeys(there, dealt)
            elif said := self._states(self.places.kb.checks[finding].each, shown):
                found[finding] = said
        return found

    def _states(self, each: Mapping[str, str], shown: Shown) -> Shown:
        """A device shows its own states; what it has no job for goes to those it has one for."""
        if not self.device:
            return self._shared(each, shown)
        jobs = [s for s in shown if each.get(s)]
        left = [s for s in jobs if self.device.has(each[s])]
        more = sum(self._number(shown[s]) for s in jobs) / max(sum(self._number(shown[s]) for s in left), 1e-9)
        found: dict[str, Strength] = {}
        for state, strength in shown.items():
            if state not in each:
                found[state] = strength
            elif state in left and len(left) < len(jobs):
                found[self.id(state)] = min(more * self._number(strength), MOST)
            elif state in left or state not in jobs:
                found[self.id(state)] = strength
        return found

    def _shared(self, each: Mapping[str, str], shown: Shown) -> Shown:
        """What is said of 'the device' where it may be any of them, shared out among them."""
        found: dict[str, Strength] = {}
        for state, strength in shown.items():
            options = self.options(each, state)
            one = strength if options == (state,) else self._number(strength) / max(len(options), 1)
            found |= dict.fromkeys(options, one)
        return found

    def _dealt(self, shown: Shown, devices: int) -> Shown:
        return {state: self._number(strength) / devices for state, strength in shown.items()}

    def _number(self, strength: Strength) -> float:
        return self.places.kb.scales.strength[strength] if isinstance(strength, str) else float(strength)

    # -- effects and causes

    def effect(self, effect: Effect) -> Effect:
        places = self.places
        return replace(
            effect,
            id=self.id(effect.id),
            link=self.id(effect.link),
            says=self.named(effect.says),
            shows=self._shown(effect.shows),
            brings=self._brings(effect.brings),
            at_rest=self.id(effect.at_rest) if effect.at_rest else "",  # at the same link
            calculated=self._calculated(effect.calculated) if effect.calculated else None,
            blocks=self.ids(places.links, effect.blocks),
            hides=self.ids(places.links, effect.hides),
        )

    def _brings(self, brings: Shown) -> Shown:
        return {to: how for effect, how in brings.items() for to in self.each(self.places.effects, effect)}

    def _calculated(self, calculated: Calculated) -> Calculated:
        gives = {word: self._brings(brings) for word, brings in calculated.gives.items()}
        return replace(calculated, fact=self.fact(calculated.fact), gives=gives)

    def cause(self, cause: Cause) -> Cause:
        somewhere = not self.device and not self.places.belongs.of_family(cause)
        brings, one_of = self._somewhere(cause) if somewhere else self._here(cause)
        if len(one_of) == 1:
            brings, one_of = {**brings, **next(iter(one_of.values())).brings}, {}
        return replace(
            cause,
            id=self.id(cause.id),
            says=self.named(cause.says),
            brings=brings,
            one_of=one_of,
            signs=self._shown(cause.signs, somewhere) | self._elsewhere(),
            test=self.named(cause.test),
            remedy=self._remedy(cause.remedy),
            proof=self.named(cause.proof),
            inseparable_from=self._inseparable(cause),
        )

    def _here(self, cause: Cause) -> tuple[Shown, dict[str, Way]]:
        """What a cause brings about, and those of its ways that the device has the jobs for."""
        found = {name: replace(way, brings=self._brings(way.brings)) for name, way in cause.one_of.items()}
        left = {name: way for name, way in found.items() if way.brings or not cause.one_of[name].brings}
        return self._brings(cause.brings), left

    def _somewhere(self, cause: Cause) -> tuple[Shown, dict[str, Way]]:
        """What a cause of the site's brings about, and its ways: what it does to a device, to one or another."""
        effects, found = self.places.effects, dict[str, Way]()
        ways = cause.one_of or {"": Way(share=1.0, brings={})}
        for name, way in ways.items():
            brings = {**cause.brings, **way.brings}
            here = [d for d in self.places.gear if any(d.key in effects.get(e, ()) for e in brings)]
            for d in here:
                each = At(self.places, d)
                found[at(name, d.key)] = Way(share=way.share / len(here), brings=each._brings(brings))
            if not here:
                found[name] = Way(share=way.share, brings=self._brings(brings))
        return {}, found

    def _elsewhere(self) -> dict[str, Shown]:
        """What findings at the other devices show while the cause is at this one."""
        if not self.device:
            return {}
        told = [(f, here) for f, here in self.places.checks.items() if self._others(f)]
        return {at(f, key): self._others(f) for f, here in told for key in here if key != self.key}

    def _others(self, check: str) -> Shown:
        finding = self.places.kb.checks[check].finding
        return finding.others if finding else {}

    def _remedy(self, remedy: Remedy) -> Remedy:
        return replace(remedy, steps=(*map(self.named, remedy.steps[:1]), *remedy.steps[1:]))

    def _inseparable(self, cause: Cause) -> Mapping[str, str]:
        """As it says; and from the same at another device, where nothing that it shows is a device's."""
        causes = self.places.causes
        found = {i: why for other, why in cause.inseparable_from.items() for i in self.each(causes, other)}
        begun = [cause.brings, *(way.brings for way in cause.one_of.values())]
        told = any(f in self.places.checks for f in cause.signs)
        told = told or any(e in self.places.effects for brings in begun for e in brings)
        if self.device and not told:
            same = [at(cause.id, key) for key in causes[cause.id] if key != self.key]
            found |= dict.fromkeys(same, say("knowledge.same_elsewhere"))
        return found
