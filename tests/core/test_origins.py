"""A cause laid open says the numbers the inference uses, and which effect each comes from."""

import numpy as np
import pytest

from diagnose.cli import main
from diagnose.core.compile import compile_network
from diagnose.core.origins import shown_findings, ways_taken
from tests.shipped import knowledge

CAUSES = (
    "mains_lost",
    "output_contact_welded",
    "low_sun_into_sensor",
    "photo_eye_low_sun",
    "controller_board_failed",
)


@pytest.mark.parametrize("cause", CAUSES)
def test_the_numbers_are_those_of_the_compiled_table(cause: str) -> None:
    kb = knowledge()
    network = compile_network(kb)
    for shown in shown_findings(kb, cause):
        table = network.tables[shown.finding]
        bare = np.cumsum(list(shown.states.values()))
        assert bare[-1] == pytest.approx(1.0, abs=1e-12)
        expected = np.cumsum(network.shown_by(table, cause))
        assert table.leak * bare == pytest.approx(expected, abs=1e-12), shown.finding


@pytest.mark.parametrize("cause", CAUSES)
def test_ways_share_all_cases_and_every_finding_names_what_shows_it(cause: str) -> None:
    kb = knowledge()
    ways = ways_taken(kb, cause)
    assert sum(way.share for way in ways) == pytest.approx(1.0)
    for shown in shown_findings(kb, cause):
        assert shown.by
        for effect, share in shown.by:
            if effect:
                assert shown.finding in kb.effects[effect].shows
                assert share == pytest.approx(sum(way.share for way in ways if effect in way.effects))
            else:
                assert shown.finding in kb.causes[cause].signs


def test_without_supply_the_contact_logic_of_the_profile_decides_what_the_input_shows() -> None:
    """A relay without supply rests: energised on detection it says 'clear', de-energised on detection 'detecting'."""
    kb = knowledge()
    for logic, active in (("eod_no", False), ("eod_nc", False), ("dod_no", True), ("dod_nc", True)):
        values = {"device.activation_logic": logic, "device.protective_logic": "eod_no"}
        shown = {s.finding: s.states for s in shown_findings(kb, "dc_supply_dead", values)}
        assert (shown["input_clear"].get("sensor_activation", 0.0) > 0.5) is active, logic


def test_the_command_prints_it_and_refuses_a_cause_that_is_none(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain-cause", "mains_lost", "--plain"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "nothing at the gate has power" in said and "of its own account" in said
    assert main(["explain-cause", "no_such_cause"]) == 2
    assert "no cause 'no_such_cause'" in capsys.readouterr().err
