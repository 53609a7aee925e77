"""How the signal chain stands: where faults start, what proves a link good, what hides it."""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.core.compile import compile_network
from diagnose.core.ground import ground
from diagnose.core.posterior import Belief
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.core.strip import Standing, at_links, standing_of, state_of
from diagnose.model.gear import Device, device_of
from diagnose.model.knowledge import Effect, KnowledgeBase
from diagnose.model.named import Link
from diagnose.model.visit import Answer, Setup
from tests.build import cause, check, knowledge
from tests.shipped import knowledge as shipped
from tests.shipped import quick


def chain() -> KnowledgeBase:
    """Supply, sensor, cable in this order. A dead supply hides what the sensor shows."""
    effects = [
        Effect(id="dead", link="supply", says="", hides=("sensor",), shows={"lamp": {"dark": 0.97}}, source="src"),
        Effect(id="blind", link="sensor", says="", shows={"follows": {"no": 0.97}}, source="src"),
        Effect(id="cut", link="cable", says="", shows={"meter": {"open": 0.97}}, source="src"),
    ]
    of = {
        "fuse": ("supply", "dead"),
        "lens": ("sensor", "blind"),
        "core": ("cable", "cut"),
        "dust": ("cable", "blind"),
    }
    causes = [cause(name, {}, family=link, brings={e: 1.0}) for name, (link, e) in of.items()]
    looks = {"lamp": ("lit", "dark"), "follows": ("yes", "no"), "meter": ("closed", "open")}
    checks = [check(name, states, {states[1]: 0.02}) for name, states in looks.items()]
    made = knowledge([*causes, cause("other", {}, family="outside")], checks, conclude_at=0.6)
    links = {name: Link(id=name, says=name, short=name) for name in ("supply", "sensor", "cable")}
    links["outside"] = Link(id="outside", says="outside")
    return replace(made, effects={e.id: e for e in effects}, links=links)


def standing(**answers: str) -> dict[str, Standing]:
    kb = chain()
    found = Reasoner(kb, partial(fixpoint, kb)).conclude(Setup(), "", [Answer(*each) for each in answers.items()])
    return standing_of(kb.settings, found, "")


def states(**answers: str) -> dict[str, str]:
    return {link: each.state for link, each in standing(**answers).items()}


def test_a_fault_starts_where_its_cause_is_or_shows_earlier() -> None:
    network = compile_network(chain())
    assert dict(zip(network.names, network.begins, strict=True)) == {
        "fuse": "supply",
        "lens": "sensor",
        "core": "cable",
        "dust": "sensor",  # a cause of the cable's family that the sensor shows
        "other": "",
    }


def test_nothing_is_known_before_something_was_seen() -> None:
    assert states() == {"supply": "unknown", "sensor": "unknown", "cable": "unknown"}


def test_what_was_seen_to_work_is_good_and_what_nobody_looked_at_is_not() -> None:
    assert states(lamp="lit")["supply"] == "good"
    assert states(lamp="lit")["cable"] != "good"


def test_a_fault_that_is_found_proves_nothing_of_the_other_links() -> None:
    found = standing(meter="open")
    assert found["cable"].state == "broken"
    assert found["supply"].fault < 0.1 * found["supply"].before + 0.1
    assert found["supply"].speaks == pytest.approx(1.0)
    assert found["supply"].state == found["sensor"].state == "unknown"


def test_what_a_broken_link_hides_is_not_proved_by_looks_past_it() -> None:
    assert states(follows="yes")["sensor"] == "good"
    hidden = standing(lamp="dark", follows="yes")
    assert hidden["supply"].state == "broken"
    assert hidden["sensor"].speaks == pytest.approx(1.0)
    assert hidden["sensor"].state == "unknown"


@pytest.mark.parametrize(
    ("before", "fault", "speaks", "state"),
    [
        (0.1, 0.6, 0.01, "broken"),
        (0.1, 0.05, 0.2, "good"),
        (0.1, 0.05, 0.21, "unknown"),
        (0.3, 0.2, 0.1, "unknown"),  # not good while a fault there is this likely
        (0.3, 0.25, 1.0, "doubt"),
        (0.05, 0.1, 1.0, "doubt"),
        (0.06, 0.1, 1.0, "unknown"),
    ],
)
def test_states_by_hand(before: float, fault: float, speaks: float, state: str) -> None:
    assert state_of(before, fault, speaks, broken_from=0.6) == state


@given(st.integers(0, 2**32 - 1))
def test_faults_by_link_add_up_to_all_faults_there_are(seed: int) -> None:
    network = compile_network(chain())
    size = len(network.odds)
    upper = np.triu(np.random.default_rng(seed).random((size, size)), 1)
    belief = Belief(network, (upper + upper.T) / upper.sum(), 0.0)
    two = 1.0 - belief.columns[0]
    assert sum(at_links(network, belief.columns).values()) == pytest.approx(1.0 + two)


def test_devices_have_links_of_their_own() -> None:
    kb = ground(shipped(), (Device("Entry laser", "laser"), Device("exit loop", "loop")))
    network = compile_network(kb, ("laser", "loop"))
    for name, link in zip(network.names, network.begins, strict=True):
        assert device_of(link) in ("", device_of(name)) or not device_of(name)
    assert {"sight@entry_laser", "sight@exit_loop", "controller"} <= set(network.begins)


def test_every_cause_of_the_list_starts_at_some_link() -> None:
    network = quick().network(())
    nowhere = {name for name, link in zip(network.names, network.begins, strict=True) if not link}
    assert nowhere == {shipped().settings.outside_cause}
