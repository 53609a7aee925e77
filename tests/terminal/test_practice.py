"""Practice in a terminal: what a trainee types, what comes of it, and the commands around it."""

import argparse
import io
from dataclasses import dataclass
from pathlib import Path

import pytest

from diagnose.cli import explain, practice
from diagnose.errors import AnswerError, VisitError
from diagnose.practice import progress_file
from diagnose.practice.exercise import Exercise
from diagnose.practice.gate import Gate
from diagnose.practice.mastery import Mastery
from diagnose.practice.moves import CheckMove, FinishMove, HintMove, ProofMove, RepairMove, SuspectMove
from diagnose.practice.progress import Progress
from diagnose.session.session import replay
from diagnose.store.journal import read
from diagnose.terminal.practice import Practice
from diagnose.terminal.practice_overview import draw_overview, plot, weakest
from diagnose.terminal.practice_words import COMMANDS, named_causes, stated_beliefs
from diagnose.terminal.screen import Screen
from tests.practice.gates import drops, shipped, two
from tests.shipped import knowledge
from tests.terminal.typed import Line, Typed

CASES = Path(__file__).parents[2] / "transcripts_demo" / "practice"
SOLVE = ("env_window_look", "3", "", "prepare", "repair window_wet_drops", "", "prepare", "prove", "close")


@dataclass
class Played:
    exercise: Exercise
    practice: Practice
    text: str

    def flat(self) -> str:
        return " ".join(self.text.split())


def play(*lines: Line, gate: Gate | None = None, width: int = 80, hints: int = 3, aided: bool = True) -> Played:
    out = io.StringIO()
    screen = Screen(out, width, plain=True)
    practice = Practice(shipped(), gate or drops(), screen, Typed(*lines), hints, aided)
    return Played(practice.run(), practice, out.getvalue())


def test_the_complaint_and_the_site_are_shown_and_what_is_hidden_is_not() -> None:
    seen = play().flat()
    assert "Opens with nothing there" in seen
    assert "scanning laser sensor" in seen
    assert knowledge().causes["window_wet_drops"].says not in seen


def test_any_check_can_be_chosen_from_the_list_by_its_number() -> None:
    played = play("list env_window", "list torch held from the side", "1", "3", "", "prepare")
    assert [d.move.check for d in played.exercise.done if isinstance(d.move, CheckMove)] == ["env_window_look"]
    assert "hanging drops" in played.flat()


def test_what_was_stated_goes_with_the_check_and_is_compared() -> None:
    seen = play("suspect drops", "causes drops", "env_window_look", "3", "c1 60, rain or hail 10", "prepare")
    move = seen.exercise.done[1].move
    assert isinstance(move, CheckMove)
    assert (move.expects, move.prepared) == ("drops", True)
    assert dict(move.beliefs)["window_wet_drops"] == 0.6
    assert "As you expected." in seen.flat()
    assert "Still open:" in seen.flat() or "None of them is innocent yet" in seen.flat()


def test_a_belief_that_cannot_be_read_is_asked_again() -> None:
    seen = play("suspect drops", "env_window_look", "", "no such thing 50", "drops 500", "drops 50", "prepare")
    assert seen.flat().count("Not understood") == 2
    assert len(seen.exercise.done) == 2


def test_no_list_of_suspects_before_the_trainee_has_written_his_own() -> None:
    says = knowledge().causes["window_wet_drops"].says
    seen = play("causes drops", "repair window", "env_window_look", "causes", "back", "hint")
    assert says not in seen.text and seen.exercise.done == ()
    assert seen.flat().count("in your own words: 'suspect") >= 4
    wrote = play("suspect wet window; loose supply terminal", "causes drops")
    assert says in wrote.text
    assert "Your suspects lie at: supply at the device" in wrote.flat()
    assert wrote.exercise.done[0].move == SuspectMove("wet window; loose supply terminal")


def test_own_words_at_the_question_of_suspects_are_written_down() -> None:
    seen = play("env_window_look", "", "drops on the glass", "prepare")
    assert [type(d.move) for d in seen.exercise.done] == [SuspectMove, CheckMove]


def test_precautions_are_shown_before_the_choice_and_help_and_back_work_there() -> None:
    laser = knowledge().cautions["laser_class"].says
    seen = play("env_window_look", "help", "back")
    flat = seen.flat()
    assert flat.index(laser[:40]) < flat.index("What do you expect?")
    for said in (knowledge().checks["env_window_look"].help[:40], "Good:", "Bad:", "Drawing:", "Not done."):
        assert said in flat
    assert seen.exercise.done == ()
    at_the_end = play("env_window_look", "", "", "help", "back")
    assert at_the_end.exercise.done == () and "Good:" in at_the_end.text
    mended = play("repair window_wet_drops", "", "back")
    assert mended.exercise.done == ()
    assert knowledge().cautions["ladder"].says[:40] in mended.flat()


def test_precautions_told_once_are_only_counted_the_next_time() -> None:
    twice = play("env_wet_window_test", "back", "env_wet_window_test", "cautions", "back").flat()
    assert "hold here too" in twice
    assert twice.count(knowledge().cautions["moving_gate"].says[:60]) == 2  # before the choice, and for 'cautions'


def test_how_a_check_is_done_can_be_read_without_choosing_it() -> None:
    seen = play("list env_window", "list torch held from the side", "help 1")
    assert "Good:" in seen.text and seen.exercise.done == ()


def test_going_straight_on_is_kept_as_unprepared() -> None:
    move = play("env_window_look", "", "", "").exercise.done[0].move
    assert isinstance(move, CheckMove)
    assert not move.prepared


def test_a_gate_can_be_solved_proved_and_put_back_into_service() -> None:
    seen = play(*SOLVE, *["pass"] * 8)
    assert (seen.exercise.ended, seen.exercise.session.outcome) == ("solved", "in_service")
    assert "PASSED; all is well now" in seen.text
    assert replay(knowledge(), seen.exercise.events) == seen.exercise.session


def test_leaving_lines_of_the_checklist_open_leaves_the_gate_out_of_service() -> None:
    seen = play(*SOLVE, *[""] * 8)
    assert seen.exercise.ended == "left_out"
    assert "no proof after the repair" in seen.flat()


def test_after_one_of_two_faults_the_trainee_hears_that_something_is_still_wrong() -> None:
    seen = play("repair object_put_in_area", "", "prepare", "prove", gate=two())
    assert "something is still wrong" in seen.flat()


def test_an_unsafe_choice_stops_at_once_and_explains() -> None:
    seen = play("list mains at", "1", "", "", "", "env_window_look")
    assert "does not let go" in seen.flat()
    assert seen.exercise.ended == "unsafe"
    assert "UNSAFE" in seen.text
    assert "licensed electrician" in seen.flat()


def test_hints_come_in_three_strengths_and_are_counted() -> None:
    seen = play("suspect drops", "hint", "hint", "hint")
    assert seen.exercise.minutes == 14.0
    assert all(f"HINT {n}" in seen.text for n in (1, 2, 3))
    assert sum(isinstance(m, HintMove) for m in seen.practice.moves) == 3
    none = play("hint", hints=0)
    assert "no hints" in none.text
    assert none.practice.moves == ()


def test_unaided_the_coach_is_silent_until_the_end() -> None:
    look = ("env_window_look", "3", "drops 50", "prepare", "env_window_look", "", "", "prepare")
    seen = play("suspect drops", *look, aided=False)
    assert "Still open" not in seen.text and "innocent" not in seen.text
    assert "SLIP" not in seen.text
    assert len(seen.exercise.done) == 3


def test_every_command_the_help_names_does_something() -> None:
    seen = play("help")
    assert all(f"  {word}" in seen.text for word in COMMANDS)
    for word in COMMANDS:
        if word != "leave":
            assert "'help' everything you can type" not in play(word).flat()


def test_what_cannot_be_done_is_said_and_the_exercise_goes_on() -> None:
    assert play("suspect drops", "repair nothing like this").flat().count("no cause says") == 1
    seen = play("prove", "nonsense", "repair", "", "repair nothing like this", "list zzzz", "99", "parts", "answers")
    assert seen.exercise.done == ()
    for says in ("no repair is waiting", "'help' everything", "in your own words", "No check says that"):
        assert says in seen.flat()


@pytest.mark.parametrize("lines", [("leave",), ("q",), (KeyboardInterrupt, KeyboardInterrupt), (EOFError,), ()])
def test_leaving_ends_the_exercise_as_it_stands(lines: tuple[Line, ...]) -> None:
    seen = play("suspect x", "hint", *lines)
    assert (seen.exercise.ended, seen.practice.moves) == ("", (SuspectMove("x"), HintMove()))


def test_it_fits_forty_columns() -> None:
    seen = play("list supply", "suspect wet window", "causes supply", "parts", *SOLVE, *["pass"] * 8, width=40)
    assert max(len(line) for line in seen.text.splitlines()) <= 40
    assert seen.exercise.ended == "solved"


def test_causes_are_named_by_number_id_or_words_and_never_guessed() -> None:
    kb, causes = knowledge(), shipped().network(("laser",)).causes
    listed = ["window_wet_drops", "low_sun_into_sensor"]
    assert named_causes(kb, causes, listed, "c2; window_wet_drops, C2") == ("low_sun_into_sensor", "window_wet_drops")
    assert stated_beliefs(kb, causes, listed, "c1: 12,5 %, c2 = 7") == (
        ("window_wet_drops", 0.125),
        ("low_sun_into_sensor", 0.07),
    )
    assert stated_beliefs(kb, causes, listed, "") == ()
    for typed in ("c3 5", "window 5", "c1", "c1 101", "edg_radio_range 5"):
        with pytest.raises(AnswerError):
            stated_beliefs(kb, causes, listed, typed)


def args(folder: Path, **more: object) -> argparse.Namespace:
    given = {"knowledge": "", "plain": True, "width": 80, "folder": str(folder), "trainee": "Ann", "lesson": "",
             "family": "", "first": False, "sensors": "laser", "seed": 3, "case": None, "unaided": False,
             "overview": False, "check": [], "again": None, "visits": "",
             "same": None, "exam": False, "exam_record": None, "export": None, "force": False}  # fmt: skip
    return argparse.Namespace(**{**given, **more})


def typed_in(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(lines) + "\n"))


def test_a_trainer_s_case_is_worked_kept_and_played_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed_in(monkeypatch, "gate_made_safe", *SOLVE, *["pass"] * 8)
    assert practice.run(args(tmp_path, case=CASES / "good.yaml")) == 0
    progress, _ = progress_file.load(tmp_path, "Ann")
    assert [(w.ended, w.families) for w in progress.worked] == [("solved", ("environment",))]
    score = progress.worked[0].score
    (exercise,) = (tmp_path / "exercises").iterdir()
    (visit,) = (tmp_path / "visits").glob("*.visit")
    assert replay(knowledge(), read(visit).events).outcome == "in_service"
    capsys.readouterr()
    assert practice.run(args(tmp_path, again=exercise)) == 0
    assert f"Score {score:.0f} of 100" in capsys.readouterr().out


def test_a_lesson_draws_a_gate_of_the_family_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed_in(monkeypatch, "hint", "close")
    assert practice.run(args(tmp_path, family="supply", lesson="first_steps")) == 0
    (worked,) = progress_file.load(tmp_path, "Ann")[0].worked
    assert (worked.families, worked.lesson) == (("supply",), "first_steps")
    assert worked.score < 60
    assert "concluding too early" in capsys.readouterr().out


def test_leaving_before_the_first_move_keeps_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    typed_in(monkeypatch, "leave")
    assert practice.run(args(tmp_path, case=CASES / "good.yaml")) == 0
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("wrong", [{"lesson": "none"}, {"family": "none"}, {"trainee": ""}])
def test_wrong_use_is_said(tmp_path: Path, wrong: dict[str, str]) -> None:
    with pytest.raises(VisitError):
        practice.run(args(tmp_path, **wrong))


def test_cases_are_checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert practice.run(args(tmp_path, check=[CASES / "good.yaml"])) == 0
    bad = tmp_path / "bad.yaml"
    bad.write_text("title: x\ninvented: true\ncomplaint: nothing\ncauses: [nothing]\n", "utf-8")
    assert practice.run(args(tmp_path, check=[bad])) == 1
    assert "bad.yaml:4" in capsys.readouterr().out


def test_the_trainer_sees_who_is_weak_where(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, mastery in (("Ann", Mastery(2.0, 6.0, 5, 0)), ("Ben", Mastery(6.0, 2.0, 5, 1))):
        progress_file.save(tmp_path, Progress(name, {"supply": mastery, "zone": Mastery(9.0, 1.0, 5, 3)}))
    (tmp_path / "bad.json").write_text("{", "utf-8")
    assert practice.run(args(tmp_path, overview=True)) == 0
    seen = capsys.readouterr().out
    assert seen.index("Ann") < seen.index("Ben")
    assert "Not used" in seen
    assert seen.count("|") >= 4


def test_the_plot_covers_the_interval_and_marks_the_mean() -> None:
    assert plot(Mastery(4.0, 4.0), 10) == "|..---o--..|"  # scipy: 90 % interval 0.225 to 0.775, mean 0.5
    narrow, wide = plot(Mastery(90.0, 10.0)), plot(Mastery(9.0, 1.0))
    assert narrow.count("-") < wide.count("-")
    assert narrow.index("o") == wide.index("o") == 1 + 18


def test_weakest_families_come_first_and_unseen_ones_not_at_all() -> None:
    people = [
        Progress("A", {"zone": Mastery(1.0, 3.0)}),
        Progress("B", {"zone": Mastery(3.0, 1.0), "supply": Mastery(1.0, 3.0)}),
    ]
    assert weakest(people, {f: f for f in ("zone", "supply", "output")}) == [("supply", 0.25), ("zone", 0.5)]


def test_an_overview_of_nobody_says_how_to_begin() -> None:
    out = io.StringIO()
    draw_overview(Screen(out, 80, plain=True), [], {"supply": "supply"}, 1)
    assert "begins" in out.getvalue()


def test_explain_steps_through_a_demonstration(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    demo = CASES.parent / "ghost_in_rain.yaml"
    assert explain.run(args(tmp_path, name=str(demo))) == 0
    seen = capsys.readouterr().out
    assert "->" in seen
    assert "0. Complaint" in seen


def test_moves_of_a_session_are_what_was_typed() -> None:
    moves = play(*SOLVE, *["pass"] * 8).practice.moves
    kinds = [type(m) for m in moves]
    assert kinds[:3] == [CheckMove, RepairMove, ProofMove]
    assert kinds[-1] is FinishMove
