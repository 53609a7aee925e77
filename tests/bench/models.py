"""The product's network in pyAgrum and in pgmpy, exact, in the forms that suit these libraries best.

- `by_causes`: a node per cause, as in tests/core/reference.py. There one node counts the faults and one takes
  the maximum of all effects; with hundreds of causes those would need tables of 2^272 rows, so both are chains
  here: a running count, capped at three, and a running maximum.
- `by_sets`: one node whose states are the sets of one or two causes, with their prior; findings hang below.

An answer is a node of its own, wrong with probability `slip`, so that evidence is one state of it.
"""

import importlib
from collections.abc import Iterable
from typing import Any

import numpy as np

from diagnose.core.network import FindingTable, Floats, Indices, Network
from diagnose.core.posterior import evidence_weight

gum: Any = importlib.import_module("pyagrum")  # its stubs are incomplete
COUNT = "faults"
SET = "set"
MOST = 3  # more faults than are let through


def members(network: Network) -> tuple[Indices, Indices]:
    """First and second column of every set; a first column of 0 means the second cause alone."""
    first, second = np.triu_indices(len(network.odds), 1)
    return first, second


def set_prior(network: Network) -> Floats:
    first, second = members(network)
    weights = network.odds[first] * network.odds[second]
    return np.asarray(weights / weights.sum())


def of_causes(network: Network, sets: Floats) -> Floats:
    """P(cause present) from the probabilities of the sets; (n, ...) from (sets, ...)."""
    found = np.zeros((len(network.odds), *sets.shape[1:]))
    for side in members(network):
        np.add.at(found, side, sets)
    return found[1:]


def answer_given_set(network: Network, table: FindingTable, slip: float) -> Floats:
    """P(answer | set), shape (K, sets)."""
    first, second = members(network)
    each = table.cumulative
    exact = np.diff(table.leak[:, None] * each[:, first] * each[:, second], axis=0, prepend=0.0)
    return mishearing(table, slip).T @ exact


def mishearing(table: FindingTable, slip: float) -> Floats:
    """P(answer | state), rows by state."""
    return np.array([evidence_weight(table, state, slip) for state in table.states])


def gum_by_sets(network: Network, findings: Iterable[str], slip: float) -> Any:
    net, weights = gum.BayesNet(), set_prior(network)
    net.add(gum.RangeVariable(SET, "", 0, len(weights) - 1))
    net.cpt(SET).fillWith(weights.tolist())
    for finding in findings:
        table = network.tables[finding]
        net.add(gum.LabelizedVariable(finding, "", len(table.states)))
        net.addArc(SET, finding)
        net.cpt(finding)[:] = np.ascontiguousarray(answer_given_set(network, table, slip).T)
    return net


def pgmpy_by_sets(network: Network, findings: Iterable[str], slip: float) -> Any:
    models: Any = importlib.import_module("pgmpy.models")
    factors: Any = importlib.import_module("pgmpy.factors.discrete")
    weights, names = set_prior(network), list(findings)
    net = models.DiscreteBayesianNetwork([(SET, f) for f in names])
    net.add_cpds(factors.TabularCPD(SET, len(weights), weights[:, None]))
    for finding in names:
        given = answer_given_set(network, network.tables[finding], slip)
        net.add_cpds(factors.TabularCPD(finding, len(given), given, [SET], [len(weights)]))
    return net


def gum_by_causes(network: Network, findings: Iterable[str], slip: float) -> Any:
    net, counted = gum.BayesNet(), ""
    for number, (cause, odds) in enumerate(zip(network.causes, network.odds[1:], strict=True), start=1):
        net.add(gum.LabelizedVariable(cause, "", 2))
        net.cpt(cause)[:] = [1.0 / (1.0 + odds), odds / (1.0 + odds)]
        name = COUNT if number == len(network.causes) else f"{COUNT}_{number}"
        counted = _joined(net, name, MOST + 1, counted, cause, _counting(MOST + 1))
    for finding in findings:
        table = network.tables[finding]
        last = _maximum(net, network, table)
        net.add(gum.LabelizedVariable(finding, "", len(table.states)))
        net.addArc(last, finding)
        net.cpt(finding)[:] = mishearing(table, slip)
    return net


def _maximum(net: Any, network: Network, table: FindingTable) -> str:
    """The last node of the running maximum of the leak and of what every present cause shows."""
    size, last = len(table.states), f"{table.id}_leak"
    net.add(gum.LabelizedVariable(last, "", size))
    net.cpt(last)[:] = np.diff(table.leak, prepend=0.0)
    for column, shown in zip(table.touched, table.cumulative[:, table.touched].T, strict=True):
        cause = network.causes[column - 1]
        last = _joined(net, f"{table.id}_{cause}", size, last, cause, _raising(shown))
    return last


def _joined(net: Any, name: str, size: int, before: str, cause: str, table: Floats) -> str:
    """A node below `before` (or below nothing counted yet) and `cause`; `table` is [before, cause, own]."""
    net.add(gum.LabelizedVariable(name, "", size))
    for parent in filter(None, (before, cause)):
        net.addArc(parent, name)
    if not before:
        net.cpt(name)[:] = table[0]
    for state in range(size if before else 0):
        for present in (0, 1):
            net.cpt(name)[{before: state, cause: present}] = table[state, present].tolist()
    return name


def _counting(size: int) -> Floats:
    table = np.zeros((size, 2, size))
    for count in range(size):
        table[count, 0, count] = table[count, 1, min(count + 1, size - 1)] = 1.0
    return table


def _raising(shown: Floats) -> Floats:
    """The larger of what was there and what the cause shows, given cumulative."""
    size = len(shown)
    table = np.zeros((size, 2, size))
    for state in range(size):
        table[state, 0, state] = 1.0
        table[state, 1] = np.diff(np.where(np.arange(size) >= state, shown, 0.0), prepend=0.0)
    return table
