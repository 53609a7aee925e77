"""A hidden faulty gate, drawn from the knowledge base and a seed; the same seed gives the same gate.

The figures and lessons hold if the knowledge is right; an invented gate is no claim about real ones.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.core.facts import fact_name
from diagnose.core.network import Floats, Network
from diagnose.core.posterior import prior
from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError
from diagnose.measure.simulate import draw_complaint, draw_truth, draw_ways
from diagnose.measure.streams import key, stream
from diagnose.model.bearing import complained_of, shown_states
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup, Value
from diagnose.practice.agree import Site, agreed, told_by
from diagnose.practice.bench import Bench, after_of, known_from
from diagnose.practice.states import draw_leads, draw_states
from diagnose.words import say

REDRAWS = 12  # of what one gate shows; faults that agree in none of these are taken to contradict each other


class ImpossibleGate(DiagnoseError):
    """What these faults show does not go together."""


@dataclass(frozen=True, slots=True)
class Gate:
    """`truth`: what is wrong now. `results`: what every check shows. `seed` made it; `mended` what was put right."""

    seed: int
    setup: Setup
    complaint: str
    truth: tuple[str, ...]
    states: Mapping[str, str]
    results: Mapping[str, Value]
    mended: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WantedGate:
    """What to hide: how many faults, in which family ('' any), under which complaints (none: any). `leads`: findings
    that look abnormal though nothing is wrong there, in a lesson about them."""

    faults: int = 1
    family: str = ""
    complaints: tuple[str, ...] = ()
    leads: int = 0


def draw_gate(reasoner: Reasoner, setup: Setup, wanted: WantedGate, seed: int) -> Gate:
    """A gate with the wanted faults. Raises DiagnoseError when no cause fits."""
    network = reasoner.network(*reasoner.site(setup, setup.profile))
    weights = _wanted_weights(reasoner.kb, network, wanted, setup)
    if not weights.any():
        raise DiagnoseError(say("practice.no_such_fault", family=wanted.family))
    truth = draw_truth(network, weights, seed)
    complaint = draw_complaint(network, truth, wanted.complaints or tuple(network.presenting), seed)
    return made_gate(reasoner, setup, truth, complaint, seed, wanted.leads)


def _wanted_weights(kb: KnowledgeBase, network: Network, wanted: WantedGate, setup: Setup) -> Floats:
    """Prior weights of the sets of causes, nought for those that are not wanted."""
    family = np.array([True, *(wanted.family in ("", kb.causes[c].family) for c in network.names)])
    listed = np.array([True, *(c != kb.settings.outside_cause for c in network.names)])
    if wanted.family == kb.causes[kb.settings.outside_cause].family:
        listed[:] = True
    denied = _impossible(kb, setup)
    possible = np.array([True, *(c not in denied for c in network.names)])
    heard = _heard(kb, network, wanted.complaints)
    fits = listed & possible & heard
    weights = np.triu(prior(network).weights) * np.outer(fits, fits)
    weights *= family[:, None] | family[None, :] if wanted.faults == 2 else family[None, :]
    keep = np.zeros_like(weights)
    keep[1:, 1:] = wanted.faults == 2
    keep[0, 1:] = wanted.faults == 1
    return np.asarray(weights * keep)


def _heard(kb: KnowledgeBase, network: Network, complaints: Sequence[str]) -> Floats:
    """Which causes people report with one of the complaints."""
    wanted = set(complaints)
    told = {c: not wanted or bool(wanted & complained_of(kb, kb.causes[c]).keys()) for c in network.causes}
    return np.array([True, *(told[c] for c in network.names)])


def _impossible(kb: KnowledgeBase, setup: Setup) -> frozenset[str]:
    """Causes that the profile alone rules out, and those this trainee has no licence to mend."""
    unlicensed = (c.id for c in kb.causes.values() if c.remedy.who == "electrician" and not setup.electrician)
    return frozenset((*after_of(kb, setup, "", {}).excluded, *unlicensed))


def made_gate(
    reasoner: Reasoner,
    setup: Setup,
    truth: tuple[str, ...],
    complaint: str,
    seed: int,
    leads: int = 0,
    shows: Mapping[str, Value] | None = None,
) -> Gate:
    """A gate with exactly these faults; what its checks show agrees with what some of them are said to show, and no
    rule denies a true cause."""
    if unknown := [c for c in truth if c not in reasoner.network(setup.devices).causes]:
        raise DiagnoseError(say("practice.cause_impossible", cause=unknown[0]))
    return _drawn(reasoner, Gate(seed, setup, complaint, truth, {}, shows or {}), leads)


def _drawn(reasoner: Reasoner, gate: Gate, leads: int = 0) -> Gate:
    """The gate with what it does not show yet: the facts of the site, by them the states, by these the answers."""
    kb, truth = reasoner.kb, gate.truth
    for attempt in range(REDRAWS):
        here = key(gate.seed, *truth, attempt)
        meter = float(stream(gate.seed, "meter").standard_normal())
        bench = Bench(kb, gate.setup, gate.complaint, truth, here, gate.results, meter)
        network, ways = _ways(reasoner, gate, bench.results)
        states, brought = draw_states(network, [ways[c] for c in truth], here)
        states |= draw_leads(network, gate.complaint, brought, leads, here)
        fixed = _known(kb, gate.setup) | gate.results.keys()
        site = Site(kb, gate.setup, gate.complaint, truth, states, brought, fixed)
        if results := agreed(site, bench.fill(states)):
            return replace(gate, states=states, results=results)
    raise ImpossibleGate(say("practice.gate_impossible", causes=", ".join(truth)))


def _known(kb: KnowledgeBase, setup: Setup) -> frozenset[str]:
    """Checks of what the profile says already."""
    return frozenset(c.id for c in kb.checks.values() if fact_name(c) in setup.facts)


def _ways(reasoner: Reasoner, gate: Gate, results: Mapping[str, Value]) -> tuple[Network, dict[str, int]]:
    """The network at this site, and the way each cause takes in it, hidden or mended: one way for good."""
    known = known_from(reasoner.kb, gate.setup, gate.complaint, results)
    network = reasoner.network(*reasoner.site(gate.setup, known.values))
    return network, draw_ways(network, (*gate.truth, *gate.mended), gate.complaint, gate.seed)


def after_repair(reasoner: Reasoner, gate: Gate, cause: str) -> Gate:
    """The gate once one true cause is mended: what it changed is drawn anew, everything else stays as it was."""
    left = replace(gate, truth=tuple(c for c in gate.truth if c != cause), mended=(*gate.mended, cause))
    if not left.truth:
        return left
    signs = _changed(reasoner, gate, left)
    checks = {c.id for c in reasoner.kb.checks.values() if c.finding and c.finding.id in signs}
    fresh = _drawn(reasoner, replace(left, results={c: v for c, v in gate.results.items() if c not in checks}))
    results = {c: fresh.results[c] if c in checks else v for c, v in gate.results.items()}
    states = {f: fresh.states[f] if f in signs else s for f, s in gate.states.items()}
    return replace(left, states=states, results=results)


def _changed(reasoner: Reasoner, before: Gate, after: Gate) -> frozenset[str]:
    """The findings that show otherwise with the one gate's causes than with the other's: what the mended cause
    showed, and what it hid.
    """
    network, ways = _ways(reasoner, before, before.results)
    was, now = ([ways[c] for c in gate.truth] for gate in (before, after))
    return frozenset(t.id for t in network.tables.values() if not np.allclose(t.below(was), t.below(now), rtol=0.0))


def false_leads(kb: KnowledgeBase, gate: Gate) -> frozenset[str]:
    """Findings that what the checks show makes abnormal although no hidden cause brings that state; what a rule
    makes of sound readings is none."""
    causes = [kb.causes[c] for c in (*gate.truth, *gate.mended)]
    told = told_by(kb, gate.setup, gate.complaint, gate.results)
    return frozenset(
        f
        for f, state in told.seen.items()
        if state != next(iter(kb.findings[f].states))
        and kb.findings[f].check not in told.after.settled
        and not any(state in shown_states(kb, c, f) for c in causes)
    )
