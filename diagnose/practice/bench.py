"""What every check at one hidden gate would show: an answer per check, all of them fixed before the first is asked.

Asking again, or in another order, therefore shows the same: noise that persists, as at a real gate.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import product

import numpy as np

from diagnose.core.facts import Known, fact_name, gather
from diagnose.core.rules import Consequences, consequences, fixpoint
from diagnose.kb.domain import answers_of
from diagnose.measure.streams import Name, stream
from diagnose.model.knowledge import Check, Finding, KnowledgeBase
from diagnose.model.visit import Answer, Setup, Value
from diagnose.practice.readings import reading

USUAL_VOLTS = (24.0, 12.0, 3.6, 9.0)  # nominal voltages met at gates, common practice, no source
REDRAWS = 8  # of the numbers a reading is compared with, until the drawn state can show
CANT_SHOW = "cant_check"  # the answer where no reading can show the drawn state
Results = dict[str, Value]


class Bench:
    """Builds the answers of one gate, in an order that never depends on what is asked."""

    def __init__(
        self,
        kb: KnowledgeBase,
        setup: Setup,
        complaint: str,
        truth: tuple[str, ...],
        seed: Name,
        given: Mapping[str, Value],
        meter: float = 0.0,
    ) -> None:
        """`given`: answers that stand already; the facts of the site are drawn around them. `meter`: by how many
        standard deviations the trainee's instrument reads too much."""
        self.kb, self._setup, self._complaint, self._truth, self._seed = kb, setup, complaint, truth, seed
        self._meter = meter
        said = {c.id: setup.facts[fact_name(c)] for c in kb.checks.values() if fact_name(c) in setup.facts}
        self.results: Results = {**said, **given}  # what the profile says is what a look at it shows
        self._context()

    def fill(self, states: Mapping[str, str]) -> Results:
        """Answers to every check for these states of the findings."""
        direct = [c for c in self.kb.checks.values() if c.finding and c.finding.fact == fact_name(c)]
        for check in (c for c in direct if c.id not in self.results):
            assert check.finding
            words = check.finding.states[states[check.finding.id]]
            self.results[check.id] = words[int(self._rng(check).integers(len(words)))]
        for check in self.kb.checks.values():
            if check.finding and check.id not in self.results:
                self._indirect(check, check.finding, states[check.finding.id], self._rng(check))
        return self.results

    def _rng(self, check: Check) -> np.random.Generator:
        return stream(self._seed, check.id, "result")

    def _context(self) -> None:
        """Unscored checks: facts of the site that exclude no true cause and tell of no danger that is not there."""
        self.results[self.kb.settings.made_safe_check] = "made_safe"
        given = set(self._after({}).stop_work)
        for check in self.kb.checks.values():
            if check.finding or check.id in self.results:
                continue
            if check.kind == "quantity":
                self.results[check.id] = self._number(check, self._rng(check))
                continue
            options = [str(o) for o in self._rng(check).permutation(sorted(answers_of(check)))]
            self.results[check.id] = next((o for o in options if self._fits(check.id, o, given)), CANT_SHOW)

    def _fits(self, check: str, option: str, given: set[str]) -> bool:
        after = self._after({**self.results, check: option})
        return set(after.stop_work) <= given and not set(after.excluded) & set(self._truth)

    def _after(self, results: Mapping[str, Value]) -> Consequences:
        return after_of(self.kb, self._setup, self._complaint, results)

    def _number(self, check: Check, rng: np.random.Generator) -> float:
        """A plausible site number: a nominal voltage, else about the middle."""
        low, high = check.plausible or check.hard or (0.0, 1.0)
        if check.unit == "V" and (nominal := [v for v in USUAL_VOLTS if low <= v <= high]):
            return nominal[0]
        value = low + (high - low) * float(rng.uniform(0.2, 0.6))
        return float(max(round(value), 1)) if check.unit == "count" or value > 20 else float(f"{value:.2g}")

    def _indirect(self, check: Check, finding: Finding, state: str, rng: np.random.Generator) -> None:
        words = finding.states[state]
        if finding.fact in self.kb.calculations and check.kind == "quantity":
            self.results[check.id] = self._read(check, finding, words, rng)
        else:
            self._search(check, finding, words, rng)

    def _read(self, check: Check, finding: Finding, words: tuple[str, ...], rng: np.random.Generator) -> Value:
        calculation = self.kb.calculations[finding.fact]
        others = [self.kb.checks[f] for f in calculation.inputs.values() if f in self.kb.checks and f != check.id]
        free = [c for c in others if not c.finding and c.kind == "quantity"]
        for _ in range(REDRAWS):
            values = {**self._facts(), **self._setup.profile}
            value = reading(check, calculation, values, words, rng, self._meter)
            if value is not None or not free:
                break
            self.results |= {c.id: self._number(c, rng) for c in free}
        return CANT_SHOW if value is None else value

    def _facts(self) -> dict[str, Value]:
        """Answers under the names of the facts they become."""
        given = ((fact_name(self.kb.checks[c]), v) for c, v in self.results.items())
        return {name: v for name, v in given if v != CANT_SHOW}

    def _search(self, check: Check, finding: Finding, words: tuple[str, ...], rng: np.random.Generator) -> None:
        """A state that rules derive from several answers: try them together until it shows."""
        small = _only_rules_for(self.kb, finding.fact)
        for trial in self._trials(check, rng):
            after = after_of(small, self._setup, self._complaint, {**self.results, **trial})
            if any((finding.fact, word) in after.facts for word in words):
                self.results |= trial
                return
        self.results[check.id] = CANT_SHOW

    def _trials(self, check: Check, rng: np.random.Generator) -> Iterator[Results]:
        asked = [check, *(self.kb.checks[n] for n in check.needs)]
        open_ones = [c for c in asked if fact_name(c) not in self._setup.profile]
        choices = [self._values(c, rng) for c in open_ones]
        for values in product(*choices):
            yield dict(zip((c.id for c in open_ones), values, strict=True))

    def _values(self, check: Check, rng: np.random.Generator) -> list[Value]:
        """What may be tried for one check: every option, numbers from low to high; what is settled stays first."""
        if check.kind != "quantity":
            kept, options = self.results.get(check.id), [str(o) for o in rng.permutation(sorted(answers_of(check)))]
            return sorted(options, key=lambda o: o != kept)
        if check.id in self.results:
            return [self.results[check.id]]
        low, high = check.plausible or (0.0, 1.0)
        return [float(f"{v:.3g}") for v in np.linspace(low, high, 31)]


def after_of(kb: KnowledgeBase, setup: Setup, complaint: str, results: Mapping[str, Value]) -> Consequences:
    """What the rules make of these answers."""
    return consequences(kb, *fixpoint(kb, known_from(kb, setup, complaint, results).facts))


def known_from(kb: KnowledgeBase, setup: Setup, complaint: str, results: Mapping[str, Value]) -> Known:
    """What these answers establish beside the set-up and the complaint."""
    return gather(kb, setup, complaint, (Answer(c, v) for c, v in results.items()))


def _only_rules_for(kb: KnowledgeBase, fact: str) -> KnowledgeBase:
    """The same knowledge with only the rules and calculations the fact can rest on."""
    wanted, rules = {fact}, dict(kb.rules)
    while True:
        more = {f for r in rules.values() if wanted & set(r.then.derive) for f in r.when} - wanted
        if not more:
            break
        wanted |= more
    kept = {i: r for i, r in rules.items() if wanted & set(r.then.derive)}
    calculations = {i: c for i, c in kb.calculations.items() if i in wanted}
    return replace(kb, rules=kept, calculations=calculations)
