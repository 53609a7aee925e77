"""Cases a trainer writes, exercises kept on disk, the golden sessions."""

import io
import json
from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.practice import exercise_file
from diagnose.practice.case_file import PracticeCase, check_case, gate_of, load_case
from diagnose.practice.debrief import debrief
from diagnose.practice.entries import Drawn
from diagnose.practice.exercise import replayed
from diagnose.practice.wording import slip_says
from diagnose.present.debrief import review_of
from diagnose.terminal.practice import Practice
from diagnose.terminal.practice_draw import draw_debrief
from diagnose.terminal.reader import ScriptReader
from diagnose.terminal.replay import TRANSCRIPT_WIDTH
from diagnose.terminal.screen import Screen
from tests.practice.gates import drops, shipped
from tests.practice.test_exercise import DROPS

DEMOS = Path(__file__).parents[2] / "transcripts_demo"
CASES = sorted((DEMOS / "practice").glob("*.yaml"))
CASE = """\
title: a case
invented: true
complaint: ghost_opening
causes: [window_wet_drops]
devices: [laser]
"""


def practice_transcript(case: PracticeCase) -> str:
    """A case worked by its typed lines, as the terminal shows it."""
    text = io.StringIO()
    screen = Screen(text, TRANSCRIPT_WIDTH, plain=True)
    gate = gate_of(shipped(), case)
    screen.line(case.title, "bold")
    play = Practice(shipped(), gate, screen, ScriptReader({}, [*case.typed, "leave"], screen.line), case.hints)
    end = play.run(case.words)
    draw_debrief(screen, review_of(shipped(), gate.truth, end, debrief(shipped(), gate, play.moves)))
    if case.story:
        screen.pair("The story", case.story)
    return text.getvalue()


def problems(tmp_path: Path, text: str) -> list[str]:
    path = tmp_path / "case.yaml"
    path.write_text(text, "utf-8")
    return check_case(shipped(), path)


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_the_golden_session_is_what_its_case_gives_now(path: Path) -> None:
    golden = (DEMOS / f"practice_{path.stem}.txt").read_text("utf-8")
    assert practice_transcript(load_case(path)) == golden


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_the_shipped_cases_have_no_problems(path: Path) -> None:
    assert check_case(shipped(), path) == []


def test_the_good_session_is_solved_without_a_slip_and_the_poor_one_stops_with_many() -> None:
    good, poor = ((DEMOS / f"practice_{n}.txt").read_text("utf-8") for n in ("good", "poor"))
    assert "Solved, proved and back in service." in good
    assert "SLIP" not in good
    for kind in ("settled", "premature", "two_things", "base_rates", "unsafe"):
        assert f"SLIP: {slip_says(kind)}" in poor
    assert "Score 0 of 100" in poor


def test_a_sound_case_can_be_practised(tmp_path: Path) -> None:
    assert problems(tmp_path, CASE) == []


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("ghost_opening", "no_such"), "case.yaml:3:1: unknown complaint"),
        (("[window_wet_drops]", "[no_such]"), "case.yaml:4:10: unknown cause"),
        (("[window_wet_drops]", "[window_wet_drops, window_wet_drops]"), "one cause or two different"),
        (("[window_wet_drops]", "[edg_radio_range]"), "cannot occur with these sensors"),
        (("[laser]", "[sonar]"), "unknown sensor kind"),
        (("invented: true", "invented: false"), "say 'invented: true'"),
        (("title: a case", "title: a case\nhints: 9"), "hints run from 0 to 3"),
        (("title: a case", "title: a case\nseed: -1"), "a seed is 0 or more"),
        (("title: a case", "title: a case\nshows: {env_window_look: purple}"), "case.yaml:2:9"),
        (("title: a case", "title: a case\nshows: {no_check: a}"), "there is no check"),
    ],
)
def test_the_check_names_what_is_wrong_and_where(tmp_path: Path, change: tuple[str, str], says: str) -> None:
    (found,) = problems(tmp_path, CASE.replace(*change))
    assert says in found


def test_answers_that_rule_out_the_hidden_cause_are_found(tmp_path: Path) -> None:
    text = CASE.replace("window_wet_drops", "low_sun_into_sensor") + "shows: {when_it_happens: dark}\n"
    (found,) = problems(tmp_path, text)
    assert "rules out low_sun_into_sensor" in found


@pytest.mark.parametrize("text", ["[1]", "title: 5", CASE + "more: 1\n", "a: &b c\nd: *b\n", CASE + CASE])
def test_what_is_no_case_is_refused_with_its_line(tmp_path: Path, text: str) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(VisitError, match=r"case\.yaml:"):
        load_case(path)


def test_a_case_that_is_not_there_or_too_large_is_said(tmp_path: Path) -> None:
    with pytest.raises(VisitError, match="cannot read"):
        load_case(tmp_path / "nowhere.yaml")
    (tmp_path / "big.yaml").write_text("#" * 200_001, "utf-8")
    with pytest.raises(VisitError, match="larger"):
        load_case(tmp_path / "big.yaml")


def test_the_same_case_is_the_same_gate(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(CASE + "shows: {env_window_look: drops}\n", "utf-8")
    gate = gate_of(shipped(), load_case(path))
    assert gate == gate_of(shipped(), load_case(path))
    assert gate.results["env_window_look"] == "drops"


def test_an_exercise_kept_on_disk_plays_again_to_the_same_end(tmp_path: Path) -> None:
    """As an earlier version kept it, and as it is kept now."""
    path = tmp_path / "exercise.json"
    old = exercise_file.as_plain(exercise_file.Recording(drops(), DROPS), shipped().kb.digest)
    path.write_text(json.dumps(old, indent=1), "utf-8")
    drawn = Drawn(exercise_file.recipe_of(drops(), shipped().kb.digest), "Ann", "case")
    with exercise_file.begin_file(tmp_path / "deep", drawn, *DROPS) as file:
        assert exercise_file.load(shipped(), file.path).recording == exercise_file.load(shipped(), path).recording
    kept = exercise_file.load(shipped(), path).recording
    assert (kept.gate, kept.moves) == (drops(), DROPS)
    assert replayed(shipped(), kept.gate, kept.moves) == replayed(shipped(), drops(), DROPS)
    assert debrief(shipped(), kept.gate, kept.moves) == debrief(shipped(), drops(), DROPS)


@pytest.mark.parametrize(
    "change",
    [
        {"version": 9},
        {"knowledge": "other"},
        {"seed": "x"},
        {"causes": ["nothing"]},
        {"causes": 5},
        {"results": {}},
        {"results": {"env_window_look": "purple"}},
        {"moves": [{"move": "fly"}]},
        {"moves": 3},
        {"profile": 3},
    ],
)
def test_an_exercise_that_was_tampered_with_is_refused(tmp_path: Path, change: dict[str, object]) -> None:
    plain = exercise_file.as_plain(exercise_file.Recording(drops(), DROPS), shipped().kb.digest)
    path = tmp_path / "exercise.json"
    path.write_text(json.dumps({**plain, **change}), "utf-8")
    with pytest.raises(VisitError):
        exercise_file.load(shipped(), path)


@pytest.mark.parametrize("text", ["", "{}", "[]", "null", "[" * 50_000])
def test_what_is_no_exercise_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "exercise.json"
    path.write_text(text, "utf-8")
    with pytest.raises(VisitError):
        exercise_file.load(shipped(), path)


def test_a_wrong_id_comes_with_the_nearest_one_and_nonsense_with_none(tmp_path: Path) -> None:
    (said,) = problems(tmp_path, CASE.replace("window_wet_drops", "window_wet_drop"))
    assert "'window_wet_drops'" in said
    (said,) = problems(tmp_path, CASE.replace("window_wet_drops", "qqqqqq"))
    assert "meant" not in said
