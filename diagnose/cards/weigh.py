"""How much each look says for each column of a points sheet, and the whole points it is printed with.

A column is a cause by itself; the last one stands for every cause without a column, each counted by how likely it is.
Only differences between columns matter, so what all columns share is taken away: their mean.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.cards.grow import Grower
from diagnose.cards.points import Points
from diagnose.core.facts import fact_name
from diagnose.core.network import FindingTable, Floats, Network
from diagnose.core.permit import may_do
from diagnose.model.knowledge import Check

COLUMNS = 12
MOST_POINTS = 9
PLAIN_TOOLS = frozenset({"screwdrivers", "cleaning_kit", "stopwatch", "spirit_level", "test_piece"})
NO_CALLER = "never"


@dataclass(frozen=True)
class Weighed:
    """`causes` of the columns; `prior` (columns,) sums to 1, one longer than the causes where others are possible.

    `chances`: finding -> (columns, states), P(answer | column), slips included. `network` is the one weighed with;
    `temper` the power to which an answer's likelihood is raised.
    """

    causes: tuple[str, ...]
    prior: Floats
    chances: Mapping[str, Floats]
    network: Network
    temper: float

    def scores(self, finding: str) -> Floats:
        """(columns, states): tempered logarithms of likelihood, for each state the mean of the columns taken away."""
        return centred(np.log(self.chances[finding])) * self.temper

    def start(self) -> Floats:
        """(columns,): the logarithms of the prior, their mean taken away."""
        return centred(np.log(self.prior))


def centred(logs: Floats) -> Floats:
    """Every number against the mean of the columns, which are along the first axis."""
    return np.asarray(logs - logs.mean(axis=0))


def weigh(grower: Grower, findings: Iterable[str], most: int = COLUMNS) -> Weighed:
    """The likeliest causes of the grower's complaint as columns, and what these findings say of them."""
    belief = grower.reasoner.conclude(grower.setup, grower.complaint, ()).belief
    network, kb = belief.network, grower.kb
    alone = network.by_cause(belief.weights[0])[1:]
    order = [i for i in np.argsort(-alone, kind="stable") if alone[i] > 0.0]
    named = [i for i in order if network.causes[i] != kb.settings.outside_cause][:most]
    rest = [i for i in order if i not in named]
    slip = kb.settings.caller_slip if grower.setup.role == "help_desk" else kb.settings.slip
    mixing = _mixing(alone, named, rest)
    chances = {f: mixing @ answered(network, network.tables[f], slip) for f in findings if f in network.tables}
    prior = np.array([alone[i] for i in named] + ([alone[rest].sum()] if rest else []))
    return Weighed(tuple(network.causes[i] for i in named), prior / prior.sum(), chances, network, kb.settings.temper)


def _mixing(alone: Floats, named: list[int], rest: list[int]) -> Floats:
    """(columns, causes): of which causes each column is made."""
    rows = np.zeros((len(named) + bool(rest), len(alone)))
    rows[range(len(named)), named] = 1.0
    if rest:
        rows[-1, rest] = alone[rest] / alone[rest].sum()
    return rows


def answered(network: Network, table: FindingTable, slip: float) -> Floats:
    """(causes, states): P(answer | the cause alone), where a share `slip` of answers is one of the wrong ones."""
    odds = network.odds
    each = np.diff(table.leak[:, None] * table.cumulative, axis=0, prepend=0.0) * odds  # (states, ways + 1)
    shown = (network.by_cause(each) / network.by_cause(odds))[:, 1:].T
    return np.asarray((1.0 - slip) * shown + slip * (1.0 - shown) / (shown.shape[1] - 1))


def scale_of(weighed: Weighed, findings: Iterable[str]) -> float:
    """Points for each unit of the scores: the largest number that is printed becomes MOST_POINTS."""
    scores = [weighed.start(), *(weighed.scores(f) for f in findings)]
    largest = max(float(np.abs(s).max()) for s in scores)
    return MOST_POINTS / largest if largest else 1.0


def points(scores: Floats, scale: float) -> Points:
    """Whole points of one answer."""
    return tuple(round(float(s) * scale) for s in scores)


def looks(grower: Grower, tools: frozenset[str] = PLAIN_TOOLS) -> tuple[str, ...]:
    """Findings that this person can answer by one look that needs nothing known before and cannot itself hurt."""
    return tuple(f.id for f in grower.kb.findings.values() if _fits(grower, grower.kb.checks[f.check], tools))


def _fits(grower: Grower, check: Check, tools: frozenset[str]) -> bool:
    finding, setup = check.finding, grower.setup
    by_eye = check.kind != "quantity" and finding is not None and finding.fact == fact_name(check)
    free = not (check.hazard or check.needs or check.locked) and set(check.tools) <= tools
    here = all(f == "complaint" and grower.complaint in words for f, words in check.only_if.items())
    told = setup.role != "help_desk" or check.ask_caller != NO_CALLER
    return by_eye and free and here and told and may_do(check, setup)
