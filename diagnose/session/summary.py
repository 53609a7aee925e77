"""Session and conclusion -> what a person is told: ranked causes with evidence, steps, cautions; as data."""

from dataclasses import dataclass

from diagnose.core.asking import open_groups
from diagnose.core.explain import Prospect, Weight, prospects, repair_order, weights
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.told import cautions_for
from diagnose.session.state import Session

SHOWN_CAUSES = 5
FIRST_SHOWN = 3  # these with LEAST_OF_FIRST; beyond them only causes with LEAST_SHOWN
LEAST_OF_FIRST = 0.01
LEAST_SHOWN = 0.02
NOTICEABLE_DECIBANS = 1.0  # about the smallest change a person notices (Good)


@dataclass(frozen=True, slots=True)
class Ranked:
    """One cause of the ranked list; `steps` are the evidence against its nearest rival, in order."""

    cause: Cause
    probability: float
    rival: str
    start: Weight
    steps: tuple[Weight, ...]

    @property
    def evidence(self) -> tuple[Weight, ...]:
        """Strongest first."""
        return tuple(sorted(self.steps, key=lambda w: -abs(w.decibans)))


@dataclass(frozen=True, slots=True)
class Summary:
    """`order` is the order in which remedies are worth trying; `outside` when nothing listed fits.

    `stands_out`: the leading cause is likely enough to act on.
    """

    ranked: tuple[Ranked, ...]
    order: tuple[str, ...]
    pairs: tuple[tuple[tuple[str, ...], float], ...]
    outside: bool
    designed: bool
    stands_out: bool


def summarise(reasoner: Reasoner, session: Session, conclusion: Conclusion, most: int = SHOWN_CAUSES) -> Summary:
    """The ranked causes worth showing, each with its evidence."""
    kb = reasoner.kb
    leaders = conclusion.belief.ranked()[:most]
    least = max(LEAST_OF_FIRST, min(LEAST_SHOWN, leaders[:FIRST_SHOWN][-1][1]))
    shown = leaders[:1] + [(cause, p) for cause, p in leaders[1:] if p >= least]
    ranked = tuple(_ranked(kb, conclusion, cause, p) for cause, p in shown)
    order = _order(kb, conclusion, open_groups(kb, session.given), least)
    leader = ranked[0].cause.id
    pairs = tuple(s for s in conclusion.belief.sets() if len(s[0]) == 2 and s[1] >= LEAST_SHOWN)
    stands_out = ranked[0].probability >= kb.settings.act_at
    outside, designed = leader == kb.settings.outside_cause, leader == kb.settings.designed_cause and stands_out
    return Summary(ranked, order, pairs, outside, designed, stands_out)


def _order(kb: KnowledgeBase, conclusion: Conclusion, opened: frozenset[str], least: float) -> tuple[str, ...]:
    """The remedies worth trying: those likely enough to act on first, and none where none is.

    What was repaired in vain comes again only when something was looked at that shows whether the repair worked.
    """
    found = [c for c in repair_order(kb, conclusion.belief, opened, least) if c not in conclusion.tried]
    likely = [c for c in found if conclusion.belief.probability(c) >= kb.settings.act_at]
    return (*likely, *(c for c in found if c not in likely)) if likely else ()


def _ranked(kb: KnowledgeBase, conclusion: Conclusion, cause: str, probability: float) -> Ranked:
    rival = next((c for c, _ in conclusion.belief.ranked() if c != cause), cause)
    start, *steps = weights(conclusion.path, conclusion.told, cause, rival)
    return Ranked(kb.causes[cause], probability, rival, start, tuple(steps))


def why_this_check(reasoner: Reasoner, conclusion: Conclusion) -> list[Prospect]:
    """For the proposed check: each possible answer, how likely it is, and what would lead after it."""
    gain = conclusion.next.gain
    if gain is None:
        return []
    before = conclusion.heard.get(gain.option.finding, ())
    return prospects(conclusion.belief, gain.option.finding, gain.chances, reasoner.kb.settings.slip, before)


def shown_cautions(kb: KnowledgeBase, session: Session) -> frozenset[str]:
    """Cautions that came before checks already answered on this visit."""
    done = (kb.checks[a.check] for a in session.given if a.check in kb.checks)
    return frozenset(caution for check in done for caution in cautions_for(kb, check))
