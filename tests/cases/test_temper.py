"""The power of the likelihoods: what it does to a belief, and how it is fitted."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.cases.model import Fault
from diagnose.cases.temper import GRID, best, gathered, scores
from diagnose.core.course import evidence_weight
from diagnose.core.posterior import Belief, absorb, likelihood, prior, untempered, update
from diagnose.measure.simulate import at_face_value
from diagnose.model.visit import Observation
from tests.cases import made
from tests.shipped import knowledge

LAMP_OUT = Observation("lamp", "out")


def start(temper: float) -> Belief:
    network = made.reasoner().network(("loop",))
    return prior(replace(network, temper=temper))


@given(st.floats(0.05, 2.0))
def test_a_belief_is_updated_by_the_likelihood_to_that_power(temper: float) -> None:
    """Against the plain power of the plain product, cell by cell."""
    belief = start(1.0)
    table, weight = belief.network.tables["lamp"], evidence_weight(belief.network.tables["lamp"], "out", 0.02)
    direct = belief.weights * likelihood(table, weight) ** temper
    after = update(start(temper), table, weight).weights
    assert np.allclose(after, 2.0 * direct / direct.sum(), rtol=1e-12, atol=0.0)


def test_a_power_below_one_states_less_and_one_changes_nothing() -> None:
    sure = {t: absorb(start(t), LAMP_OUT, 0.02).probability("unplugged") for t in (1.0, 0.7, 0.3)}
    assert sure[1.0] > sure[0.7] > sure[0.3] > start(1.0).probability("unplugged")
    assert absorb(untempered(start(0.3)), LAMP_OUT, 0.02).probability("unplugged") == pytest.approx(
        sure[1.0], abs=1e-12
    )


@given(st.permutations(["lamp", "bracket", "window", "contact"]), st.floats(0.2, 1.2))
def test_the_order_of_answers_does_not_matter_at_any_power(order: list[str], temper: float) -> None:
    states = {"lamp": "out", "bracket": "straight", "window": "dirty", "contact": "moves"}
    belief = other = start(temper)
    for name in states:
        belief = absorb(belief, Observation(name, states[name]), 0.02)
    for name in order:
        other = absorb(other, Observation(name, states[name]), 0.02)
    assert np.allclose(belief.weights, other.weights, rtol=0.0, atol=1e-12)


def test_the_fitted_power_has_the_least_log_score_of_the_grid() -> None:
    reasoner = made.reasoner()
    visits = list(gathered(reasoner, [made.case(), made.pair()], 1))
    found = scores(reasoner, visits)
    assert [t.temper for t in found] == list(GRID)
    assert best(found).score.value == min(t.score.value for t in found)


def test_answers_that_mislead_are_served_by_less_power_and_true_ones_by_more() -> None:
    """A truth whose signs are absent while another's are there: the less the answers weigh the better."""
    reasoner = made.reasoner()
    misled = made.case(
        faults=(Fault(says="bent", mended_by=("bent",)),),
        states={"start": made.state({"lamp": "out", "volts": "none"}, healthy=("bracket",))},
    )
    assert best(scores(reasoner, list(gathered(reasoner, [misled], 1)))).temper == min(GRID)
    assert best(scores(reasoner, list(gathered(reasoner, [made.case()], 1)))).temper == max(GRID)


def test_simulated_visits_keep_face_value() -> None:
    kb = replace(knowledge(), settings=replace(knowledge().settings, temper=0.5))
    assert at_face_value(kb).settings.temper == 1.0
    assert at_face_value(kb).causes is kb.causes
