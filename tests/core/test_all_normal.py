"""Where everything looks normal, no listed cause may lead by having too few signs to be spoken against."""

import pytest

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Setup, Value
from tests.shipped import knowledge

KB = knowledge()
REASONER = Reasoner(KB, derive=lambda facts: fixpoint(KB, facts))
CONTEXT = {
    "mec_gate_kind": "sliding", "sup_power_kind": "mains", "edg_kind": "wired_resistive", "eye_kind": "through_beam",
    "eye_job": "stops_closing", "lop_job": "opens", "out_which_output": "activation", "las_shared_mount": "own_post",
    "lop_neighbour": "no", "eye_neighbour_pair": "no", "opn_reader_fitted": "not_fitted", "anyone_touched": "nobody",
    "gate_made_safe": "made_safe",
}  # fmt: skip
CASES = [
    pytest.param(device, complaint, marks=[] if complaint == "stuck_open" else [pytest.mark.long])
    for device in ("laser", "loop", "photo_eye", "edge")
    for complaint in ("stuck_open", "ghost_opening", "intermittent")
]


def normal(check: Check, complaint: str) -> tuple[Value, dict[str, Value]]:
    """The normal answer, and the verdict in place of a reading; context that says nothing is skipped."""
    if check.id == "when_it_happens" and complaint == "intermittent":
        return "no_pattern", {}
    if check.finding is None:
        return CONTEXT.get(check.id, "skip"), {}
    first = next(iter(check.finding.states.values()))[0]
    return (first, {}) if first in check.options else ("skip", {check.finding.fact: first})


@pytest.mark.parametrize(("device", "complaint"), CASES)
def test_something_outside_the_list_is_among_the_first_three(device: str, complaint: str) -> None:
    """Every check the tool finds worth asking comes out normal."""
    answers, verdicts = list[Answer](), dict[str, Value]()
    while True:
        setup = Setup(electrician=True, devices=(device,), profile=dict(verdicts))
        conclusion = REASONER.conclude(setup, complaint, answers)
        if not (name := conclusion.next.check):
            break
        value, known = normal(KB.checks[name], complaint)
        answers.append(Answer(name, value))
        verdicts |= known
    assert len(answers) > 25  # the tool does look round before it gives up
    assert KB.settings.outside_cause in [cause for cause, _ in conclusion.belief.ranked()[:3]]
