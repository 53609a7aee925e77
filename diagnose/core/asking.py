"""Ahead -> the check to ask next, or to conclude, and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diagnose.core import permit
from diagnose.core.network import Network
from diagnose.core.policy import Ahead, Costs, Gain, Option, choose, most_telling
from diagnose.core.posterior import Belief
from diagnose.core.stage import Premises, Stage, opening_check, touched_by
from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.visit import Answer, Attempt, Setup, Value

Why = Literal[
    "stop_work",
    "opening",
    "needed",
    "pays",
    "tells",
    "worked",
    "likely",
    "not_worth_it",
    "nothing_left",
    "beyond",
    "insisted",
]


@dataclass(frozen=True, slots=True)
class Next:
    """The check to ask, or check '' to conclude; `why` says which it is. `gain` is there when a gain decided.

    `beside`: what is looked at in one go with it.
    """

    check: str
    why: Why
    gain: Gain | None = None
    beside: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Repairs:
    """What was repaired so far. `tried` as in a conclusion; `answered`: something was, since the last of them."""

    attempts: Sequence[Attempt]
    tried: tuple[str, ...]
    answered: bool

    @property
    def failed(self) -> int:
        return sum(not a.surely_mended for a in self.attempts)


def next_check(case: Premises, stage: Stage, stop_work: Sequence[str], ahead: Ahead, repairs: Repairs) -> Next:
    """What comes next: what has to come first, else whether the last repair worked, else what pays or tells."""
    settings = case.kb.settings
    if stop_work:
        return Next(settings.made_safe_check, "stop_work")
    if first := opening_check(case, stage):
        return Next(first, "opening")
    done = set(stage.done)
    if worked := _worked(case.kb, ahead, repairs):
        return asked(case, worked, "worked", stage.values, done)
    if repairs.failed >= settings.most_failed:
        return Next("", "beyond")
    enough = _leader(ahead.near.belief, repairs) >= settings.conclude_at
    chosen = None if enough else choose(ahead.best) or most_telling(ahead.best, settings.least_bits_per_minute)
    if chosen is None:
        return Next("", "likely" if enough else "not_worth_it" if ahead.options else "nothing_left")
    return asked(case, chosen, "pays" if chosen.pays else "tells", stage.values, done)


def _worked(kb: KnowledgeBase, ahead: Ahead, repairs: Repairs) -> Gain | None:
    """After a repair that did not end the trouble: what tells most of whether it worked."""
    last = repairs.attempts[-1].cause if repairs.attempts else ""
    if last not in repairs.tried or repairs.answered:
        return None
    return most_telling(ahead.of(touched_by(kb, last)), kb.settings.least_bits_per_minute)


def _leader(belief: Belief, repairs: Repairs) -> float:
    """The chance of the likeliest cause, one whose repair was tried and not looked at since left out."""
    return max((p for cause, p in belief.ranked() if cause not in repairs.tried), default=0.0)


def asked(case: Premises, gain: Gain, why: Why, values: Mapping[str, Value], done: set[str]) -> Next:
    """The check that promises the gain, or one of context that has to come before it."""
    needs = open_needs(case.kb, case.kb.checks[gain.option.check], case.setup, values, done)
    return Next(needs[0], "needed", gain) if needs else Next(gain.option.check, why, gain)


def option_of(
    case: Premises, check: Check, opened: frozenset[str], values: Mapping[str, Value], done: set[str]
) -> Option:
    """The check with the minutes that it costs now."""
    kb = case.kb
    needs = open_needs(kb, check, case.setup, values, done)
    own = sum(c.minutes + kb.settings.asking_minutes for c in (check, *(kb.checks[n] for n in needs)))
    shut = check.access and check.access not in opened
    return Option(check.id, check.id, own, check.access, kb.access[check.access].minutes if shut else 0.0)


def open_needs(
    kb: KnowledgeBase, check: Check, setup: Setup, values: Mapping[str, Value], done: set[str]
) -> tuple[str, ...]:
    """The context checks to ask before this one that are still open to this role."""
    if not check.needs:
        return ()
    return tuple(
        n.id
        for n in (kb.checks[n] for n in check.needs)
        if n.id not in done and permit.may_do(n, setup) and permit.open_now(n, values, frozenset())
    )


def costs_of(kb: KnowledgeBase, network: Network, opened: frozenset[str]) -> Costs:
    """Minutes of remedy and proof per cause of the network, with the access group where it is still shut."""
    minutes = [repair_minutes(kb, kb.causes[c], opened) for c in network.causes]
    return Costs(np.array(minutes, dtype=float), kb.settings.specialist_minutes)


def open_groups(kb: KnowledgeBase, answers: Sequence[Answer]) -> frozenset[str]:
    """Access groups already paid for: some check behind them was really done."""
    done = (kb.checks[a.check] for a in answers if a.made_here and a.check in kb.checks)
    return frozenset(c.access for c in done if c.access)


def repair_minutes(kb: KnowledgeBase, cause: Cause, opened: frozenset[str]) -> float:
    """Minutes to repair and prove one cause; the outside cause costs the specialist."""
    if cause.id == kb.settings.outside_cause:
        return kb.settings.specialist_minutes
    access = cause.remedy.access
    opening = kb.access[access].minutes if access and access not in opened else 0.0
    return cause.remedy.minutes + cause.proof_minutes + opening
