"""By how much a column has to lead, and which two lead most often without that: from simulated gates.

Gates are drawn from the whole knowledge, two faults and causes without a column included; they say how good the sheet
is if the knowledge is right.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.cards.grow import Grower
from diagnose.cards.points import Points, PointsSheet, leaders, settled
from diagnose.cards.weigh import Weighed
from diagnose.measure.simulate import draw_case

CASES = 500
RIGHT = 0.80  # share of the settled cases in which the winner has to be there
FEWEST = 10  # settled cases that a share can be told from


@dataclass(frozen=True, slots=True)
class AddedUp:
    """A simulated gate on the sheet: the totals, and the letters of the causes that are truly there."""

    totals: Points
    truth: frozenset[str]


def added_up(grower: Grower, weighed: Weighed, sheet: PointsSheet, cases: int = CASES) -> list[AddedUp]:
    """Simulated gates, every look of the sheet answered."""
    kb, looked_at = grower.kb, {look.check for look in sheet.looks}
    tables = {f: t for f, t in weighed.network.tables.items() if kb.findings[f].check in looked_at}
    network = replace(weighed.network, tables=tables)
    found = []
    for seed in range(cases):
        case = draw_case(network, kb, seed, complaint=grower.complaint)
        seen = {kb.findings[f].check: kb.findings[f].states[s][0] for f, s in case.states.items()}
        there = frozenset(c.letter for c in sheet.columns if c.cause in case.truth)
        found.append(AddedUp(sheet.totals(seen), there))
    return found


def with_margin(sheet: PointsSheet, done: Sequence[AddedUp]) -> PointsSheet:
    """The sheet with the smallest margin that settles rightly often enough. Where none does, nothing is settled."""
    highest = max(max(d.totals) - min(d.totals) for d in done) + 1
    for margin in range(1, highest):
        won = [(settled(sheet.columns, d.totals, margin), d.truth) for d in done]
        right = [letter in truth for letter, truth in won if letter]
        if len(right) >= FEWEST and sum(right) >= RIGHT * len(right):
            return replace(
                sheet, margin=margin, settles=len(right) / len(done), right=sum(right) / len(right), cases=len(done)
            )
    return replace(sheet, margin=highest, settles=0.0, right=0.0, cases=len(done))


def close_pairs(sheet: PointsSheet, done: Sequence[AddedUp]) -> list[frozenset[str]]:
    """The two causes that lead, of the gates that the margin leaves open; the most frequent first."""
    pairs = Counter(leaders(sheet.columns, d.totals) for d in done if not sheet.winner(d.totals))
    return sorted((p for p in pairs if len(p) == 2), key=lambda p: (-pairs[p], sorted(p)))
