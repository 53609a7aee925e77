"""Work that changes what protects people, known by its words, owes a proof of it."""

import pytest

from diagnose.kb.lint_proofs import duties
from tests.kb.weakenings import changed, remedied
from tests.shipped import knowledge

PLAIN = "push_button_stuck"
STEPS = {  # common practice, no source: how a step of each kind is worded in the field
    "taught_again": "Clear the area and teach the zone again.",
    "device_exchanged": "Replace the sensor.",
    "force_or_speed": "Set the closing force and measure it.",
    "resistor": "Fit the terminal resistor that the papers give.",
    "protective_input": "Move the core to the protective input.",
    "filter_or_hold": "Shorten the filter to what the papers give.",
}


def test_the_shipped_knowledge_owes_what_it_touches() -> None:
    kb = knowledge()
    assert set(STEPS) == set(kb.duties) and not list(duties(kb))


@pytest.mark.parametrize("duty", STEPS)
def test_a_step_that_owes_a_proof_names_it(duty: str) -> None:
    kb = remedied(knowledge(), PLAIN, steps=(STEPS[duty],), touches=("controller",))
    assert [path for path, _ in duties(kb)] == [("causes", PLAIN, "remedy")]
    for proof in kb.duties[duty].touches:
        assert not list(duties(remedied(kb, PLAIN, touches=(proof,))))


def test_a_cause_is_spared_by_name_alone() -> None:
    kb = remedied(knowledge(), PLAIN, steps=(STEPS["resistor"],), touches=())
    assert not list(duties(changed(kb, "duties", "resistor", spared={PLAIN: "nothing that protects hangs on it"})))


def test_a_duty_that_cannot_be_read_or_asks_for_nothing_is_a_problem() -> None:
    broken = changed(knowledge(), "duties", "resistor", words="(")
    empty = changed(knowledge(), "duties", "resistor", touches=("nothing",))
    assert [path for path, _ in duties(broken)] == [("duties", "resistor", "words")]
    assert ("duties", "resistor", "touches") in [path for path, _ in duties(empty)]
