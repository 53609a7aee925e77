"""Answers in words for paper: options as they read, readings as the limits that part good from bad."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from diagnose.calc.registry import FOR_RULES
from diagnose.calc.units import format_reading
from diagnose.cards.answers import trial_numbers
from diagnose.core.facts import fact_name, gather, run_calculation
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.rules import Calculation
from diagnose.model.visit import Answer, Setup, Value
from diagnose.session.parse import options_of
from diagnose.session.wording import state_says
from diagnose.words import say

HALVINGS = 40  # of the gap between two numbers on either side of a limit


class Wording:
    """The words of answers on one card. `setup` brings the profile's numbers and the role."""

    def __init__(self, kb: KnowledgeBase, setup: Setup, complaint: str) -> None:
        self.kb, self.setup, self.complaint = kb, setup, complaint

    def option(self, check: Check, value: Value) -> str:
        """One of the answers to choose from, in the words of the role."""
        return options_of(check, self.setup.role == "help_desk").get(str(value), str(value))

    def reading(self, check: Check, state: str, asked: Sequence[str]) -> str:
        """The limits of a reading for one state. `asked` are checks before it, whose numbers the card cannot know."""
        if check.finding is None:
            return say("card.write_down")
        calculation = self.kb.calculations.get(check.finding.fact)
        words = tuple(check.finding.states[state])
        if calculation is None:
            return self._by_hand(check, state)
        unknown = {fact_name(self.kb.checks[c]) for c in asked} & set(calculation.inputs.values())
        if not unknown and (bands := self._bands(check, calculation, words)):
            return bands
        return _relative(calculation, check, words, self._names(calculation)) or self._told(calculation, check, state)

    def _told(self, calculation: Calculation, check: Check, state: str) -> str:
        words = tuple(check.finding.states[state]) if check.finding else ()
        told = [FOR_RULES[calculation.calculator].words[w] for w in words]
        return either(told) if all(told) else self._by_hand(check, state)

    def _by_hand(self, check: Check, state: str) -> str:
        """What the knowledge says is good and bad, where nothing can be worked out."""
        finding = self.kb.findings[check.id]
        if state == next(iter(finding.states)):
            return say("card.good", good=check.good)
        says = state_says(self.kb, finding.id, state)
        return say("card.not_good", says=says, good=check.good.rstrip("."))

    def _bands(self, check: Check, calculation: Calculation, words: Sequence[str]) -> str:
        """'under 20.4 V', '20.4 V to 30 V' or 'over 30 V', worked out with the profile's numbers; '' if it cannot."""
        numbers = [float(n) for n in trial_numbers(check)]
        means = [self._word(check, calculation, n) for n in numbers]
        inside = [m in words for m in means]
        if None in means or not any(inside):
            return ""
        edges = [i for i, (a, b) in enumerate(pairwise(inside)) if a != b]
        cuts = [self._limit(check, calculation, words, numbers[i], numbers[i + 1]) for i in edges]
        return _said(inside[0], inside[-1], [format_reading(float(f"{c:.3g}"), check.unit) for c in cuts])

    def _limit(self, check: Check, calculation: Calculation, words: Sequence[str], low: float, high: float) -> float:
        """The number between two at which the verdict changes, by halving."""
        first = self._word(check, calculation, low) in words
        for _ in range(HALVINGS):
            middle = (low + high) / 2.0
            if (self._word(check, calculation, middle) in words) == first:
                low = middle
            else:
                high = middle
        return high

    def _word(self, check: Check, calculation: Calculation, number: float) -> str | None:
        values = gather(self.kb, self.setup, self.complaint, (Answer(check.id, number),)).values
        outcome = run_calculation(calculation, values)
        return outcome.word if outcome else None

    def _names(self, calculation: Calculation) -> dict[str, str]:
        """What the other numbers of a calculation are called: the question that asks for them."""
        asks = {fact_name(c): c.ask for c in self.kb.checks.values()}
        return {p: asks[f].partition("?")[0] for p, f in calculation.inputs.items() if f in asks}


def either(told: Iterable[str]) -> str:
    """One of several, in words."""
    return f" {say('card.or')} ".join(told)


def _said(starts_inside: bool, ends_inside: bool, cuts: Sequence[str]) -> str:
    """Limits in words, from where the band begins and ends."""
    if not cuts:
        return say("card.any_reading")
    ends = ["" if starts_inside else cuts[0], *cuts[0 if starts_inside else 1 :]]
    bands = list(zip(ends[::2], [*ends[1::2], ""][: (len(ends) + 1) // 2], strict=True))
    if not ends_inside:
        bands = [(a, b) for a, b in bands if b]
    return either(_band(low, high) for low, high in bands)


def _band(low: str, high: str) -> str:
    """'20.4 V to 30 V', 'over 30 V' or 'under 20.4 V'; '' for an end that is open."""
    if low and high:
        return say("card.between", low=low, high=high)
    return say("card.over", limit=low) if low else say("card.under", limit=high)


def _relative(calculation: Calculation, check: Check, words: tuple[str, ...], names: dict[str, str]) -> str:
    """The limits against another number of the visit, for a ratio or a difference; '' for anything else."""
    mine = next((p for p, f in calculation.inputs.items() if f == fact_name(check)), "")
    other = names.get("b" if mine == "a" else "a", "")
    if not other or mine not in ("a", "b"):
        return ""
    if calculation.calculator == "difference":
        return _apart(calculation, check, words, mine == "a", other)
    return _times(calculation, words, other) if calculation.calculator == "ratio" and mine == "a" else ""


def _apart(calculation: Calculation, check: Check, words: tuple[str, ...], larger_is_above: bool, other: str) -> str:
    """'more than 2 V above 'the other reading''."""
    tolerance = calculation.constants["tolerance"]
    named = {"other": other} | ({"margin": format_reading(tolerance, check.unit)} if tolerance else {})
    kind = "within" if tolerance else "exactly"
    sides = {"equal": "near", "a_larger": "above", "b_larger": "below"}
    if not larger_is_above:
        sides |= {"a_larger": "below", "b_larger": "above"}
    return either(say(f"card.{kind}_{sides[word]}", **named) for word in words)


def _times(calculation: Calculation, words: tuple[str, ...], other: str) -> str:
    """'0.9 to 1.1 times 'the other reading''."""
    low, high = (f"{calculation.constants[k]:.3g}" for k in ("low", "high"))
    open_ended = {frozenset(("inside", "above")): "least", frozenset(("inside", "below")): "most"}
    kinds = [open_ended[frozenset(words)]] if frozenset(words) in open_ended else words
    return either(say(f"card.times_{kind}", low=low, high=high, other=other) for kind in kinds)
