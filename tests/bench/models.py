"""The product's compiled network in pyAgrum and in pgmpy, exact, in the form that suits these libraries best.

One node's states are the sets of one or two columns, with their prior; the findings hang below.

An answer is a node of its own, wrong with probability `slip`, so that evidence is one state of it.
"""

import importlib
from collections.abc import Iterable
from typing import Any

import numpy as np

from diagnose.core.network import FindingTable, Floats, Indices, Network
from diagnose.core.posterior import evidence_weight

gum: Any = importlib.import_module("pyagrum")  # its stubs are incomplete
SET = "set"


def members(network: Network) -> tuple[Indices, Indices]:
    """First and second column of every set; a first column of 0 means the second cause alone."""
    first, second = np.triu_indices(len(network.odds), 1)
    return first, second


def set_prior(network: Network) -> Floats:
    """A cause is there once, in one way; what goes together more often than independent causes does so."""
    first, second = members(network)
    cause = np.array([-1, *(network.owners or range(len(network.causes)))])
    weights = network.odds[first] * network.odds[second] * (cause[first] != cause[second])
    weights *= 1.0 if network.together is None else network.together[first, second]
    return np.asarray(weights / weights.sum())


def of_causes(network: Network, sets: Floats) -> Floats:
    """P(cause present) from the probabilities of the sets; (n, ...) from (sets, ...)."""
    found = np.zeros((len(network.odds), *sets.shape[1:]))
    for side in members(network):
        np.add.at(found, side, sets)
    return np.asarray(network.by_cause(found.T).T[1:])


def answer_given_set(network: Network, table: FindingTable, slip: float) -> Floats:
    """P(answer | set), shape (K, sets)."""
    first, second = members(network)
    both = table.both[:, table.groups[first], table.groups[second]]
    exact = np.diff(table.leak[:, None] * both, axis=0, prepend=0.0)
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
