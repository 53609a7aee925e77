"""Practice in the browser: the same moves on the same gate as anywhere, on disk after each, counted once."""

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from diagnose.errors import DiagnoseError, SessionError
from diagnose.practice import progress_file
from diagnose.practice.exercise import Exercise, advance, best_move, replayed
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import LADDER
from diagnose.practice.lessons import drawn_for
from diagnose.practice.moves import (
    CheckMove,
    FinishMove,
    HintMove,
    Move,
    ProofMove,
    RepairMove,
    SuspectMove,
    TickMove,
)
from diagnose.practice.progress import Progress, WorkedExercise
from diagnose.session.checklist import open_items
from diagnose.session.session import conclude
from diagnose.web.app import build
from diagnose.web.exercise_forms import move_of
from diagnose.web.exercise_view import stand_of
from diagnose.web.exercises import ExerciseFolder, StaleExercise
from tests.shipped import knowledge, quick
from tests.web.tab import HOME, Tab, context


@cache
def gate() -> Gate:
    new = Progress("x")
    return drawn_for(quick(), new, LADDER[0], 7, "supply", ("laser",))


def fixed(*_: object) -> Gate:
    return gate()


@pytest.fixture
def exercises(tmp_path: Path) -> ExerciseFolder:
    return ExerciseFolder(quick(), tmp_path / "practice", fixed)


def tab(tmp_path: Path, exercises: ExerciseFolder) -> Tab:
    return Tab(TestClient(build(context(tmp_path, exercises=exercises), local=True), base_url=HOME))


def begun(tmp_path: Path, exercises: ExerciseFolder, trainee: str = "New hire") -> Tab:
    shown = tab(tmp_path, exercises).open("/practice")
    form = next(f for f in shown.forms() if f.action == "/practice")
    return shown.send(form, trainee=trainee, lesson="first_steps")


def sent(shown: Tab, move: Move) -> None:
    """The form of a page that says this move."""
    match move:
        case CheckMove():
            shown.open(f"{shown.address}/check/{move.check}")
            form = shown.form("look")
            beliefs = {f"suspect_{n}": c for n, (c, _) in enumerate(move.beliefs, start=1)}
            beliefs |= {f"percent_{n}": f"{100 * p:g}" for n, (_, p) in enumerate(move.beliefs, start=1)}
            shown.send(form, expects=move.expects, prepared="1" if move.prepared else "", **beliefs)
        case SuspectMove():
            shown.do("suspect", suspects=move.words)
        case RepairMove():
            shown.open(f"{shown.address}/repair?cause={move.causes[0]}&another={move.causes[-1]}")
            shown.do("repair", prepared="1" if move.prepared else "")
        case TickMove():
            shown.send(next(f for f in shown.forms() if f.fields.get("item") == move.item))
        case _:
            shown.do({HintMove: "hint", ProofMove: "prove", FinishMove: "finish"}[type(move)])


def next_move(exercise: Exercise) -> Move:
    """What the tool would do, with something stated beforehand; then every line of the return to service."""
    if exercise.session.pending or exercise.gate.truth:
        move = best_move(quick(), exercise)
        assert move
        suspect = conclude(quick(), exercise.session).belief.ranked()[0][0]
        return (
            replace(move, beliefs=((suspect, 0.6),)) if isinstance(move, CheckMove) and move.check in SCORED else move
        )
    items = open_items(knowledge(), exercise.session)
    return TickMove(items[0].id) if items else FinishMove()


SCORED = [c.id for c in knowledge().checks.values() if c.finding]


def test_a_whole_exercise_is_the_same_as_its_moves(tmp_path: Path, exercises: ExerciseFolder) -> None:
    shown = begun(tmp_path, exercises)
    name = shown.address.split("/")[2]
    moves: list[Move] = [SuspectMove("a dead supply"), HintMove()]
    for move in moves:
        sent(shown, move)
    assert "Hint:" in shown.text
    exercise = replayed(quick(), gate(), moves)
    while not exercise.ended:
        moves.append(next_move(exercise))
        exercise = advance(quick(), exercise, moves[-1])
        sent(shown, moves[-1])
        assert shown.status == 200, shown.text
        assert exercises.open(name).exercise == exercise and exercises.open(name).recording.moves == tuple(moves)
        assert len(moves) < 60
    assert exercise.ended == "solved" and "Debrief" in shown.text and "Solved, proved" in shown.text
    known, _ = progress_file.load(tmp_path / "practice", "new HIRE")
    assert len(known.worked) == 1 and known.worked[0].ended == "solved"
    again = ExerciseFolder(quick(), tmp_path / "practice", fixed)  # the server starts anew
    assert again.open(name).exercise == exercise
    assert "ended: debrief" in tab(tmp_path, again).open("/practice").text


def test_a_move_sent_twice_counts_once_and_a_stale_one_not_at_all(tmp_path: Path, exercises: ExerciseFolder) -> None:
    shown = begun(tmp_path, exercises)
    name, form = shown.address.split("/")[2], shown.form("suspect")
    shown.send(form, suspects="a dead supply")
    shown.send(form, suspects="a dead supply")
    assert shown.status == 200 and exercises.open(name).number == 1
    finish = {**form.fields, "do": "finish"}
    answer = shown.client.post(form.action, data=finish)
    assert answer.status_code == 409 and "went on elsewhere" in answer.text and exercises.open(name).number == 1
    with pytest.raises(StaleExercise):
        exercises.send(name, 5, HintMove())


def test_an_unsafe_step_ends_the_exercise_where_it_cannot_be_missed(
    tmp_path: Path, exercises: ExerciseFolder
) -> None:
    shown = begun(tmp_path, exercises)
    electrician = next(c for c in knowledge().causes.values() if c.remedy.who == "electrician" and not c.devices)
    shown.open(f"{shown.address}/repair?cause={electrician.id}").do("repair")
    assert "What would have happened" in shown.text
    assert 'class="stop" role="alert"' in shown.text and "UNSAFE" in shown.text and "Debrief: 0 of 100" in shown.text
    known, _ = progress_file.load(tmp_path / "practice", "New hire")
    assert [w.ended for w in known.worked] == ["unsafe"]


def test_what_is_no_move_changes_nothing(tmp_path: Path, exercises: ExerciseFolder) -> None:
    kb = knowledge()
    for form in ({}, {"do": "x"}, {"do": "look", "check": "none"}, {"do": "repair"}, {"do": "repair", "cause": "x"}):
        with pytest.raises(SessionError):
            move_of(kb, form)
    cause = next(iter(kb.causes))
    for percent in ("101", "-1", "many", "nan", "1e9"):
        with pytest.raises(SessionError, match="percentage"):
            move_of(kb, {"do": "repair", "cause": cause, "suspect_1": cause, "percent_1": percent})
    assert move_of(kb, {"do": "repair", "cause": cause, "suspect_1": cause, "percent_1": "12,5 %"}) == RepairMove(
        (cause,), ((cause, 0.125),)
    )
    shown = begun(tmp_path, exercises)
    before = shown.address
    answer = shown.client.post(before, data={**shown.form("finish").fields, "do": "prove"})
    assert answer.status_code == 422 and "no repair is waiting" in answer.text
    assert exercises.open(before.split("/")[2]).number == 0
    assert shown.open(f"{before}/check/no_such_check").status == 422


def test_names_are_looked_up_and_trainees_named_properly(tmp_path: Path, exercises: ExerciseFolder) -> None:
    shown = begun(tmp_path, exercises, trainee="<b>\u202e</b>")
    assert shown.status == 422 and "printable" in shown.text
    assert begun(tmp_path, exercises, trainee="<b>Mallory</b>").status == 200
    listed = tab(tmp_path, exercises).open("/practice").text
    assert "&lt;b&gt;Mallory" in listed and "<b>Mallory" not in listed
    for name in ("..%2f..%2fx", "x", "%00", "*"):
        assert shown.open(f"/practice/{name}").status == 404
    assert Tab(TestClient(build(context(tmp_path), local=True), base_url=HOME), "/practice").status == 422


def test_an_exercise_whose_note_cannot_be_read_does_not_hide_the_others(
    tmp_path: Path, exercises: ExerciseFolder
) -> None:
    assert begun(tmp_path, exercises, trainee="Mallory").status == 200
    (file,) = tmp_path.rglob("*.exercise")
    for name in ("20990101-000000.exercise", "20990101-000001-x.started"):
        file.with_name(name).write_text("{")
    listed = tab(tmp_path, exercises).open("/practice")
    assert listed.status == 200 and "Mallory" in listed.text


def test_a_gate_that_cannot_be_drawn_is_said(tmp_path: Path) -> None:
    def none(*_: object) -> Gate:
        raise DiagnoseError("no cause here is of that family")

    exercises = ExerciseFolder(quick(), tmp_path / "practice", none)
    assert begun(tmp_path, exercises).status == 422


def test_no_list_of_suspects_before_the_trainee_has_written_his_own(
    tmp_path: Path, exercises: ExerciseFolder
) -> None:
    shown = begun(tmp_path, exercises)
    address = shown.address
    says = knowledge().causes[gate().truth[0]].says
    for page in (address, f"{address}/check/power_lamp", f"{address}/repair"):
        assert says not in shown.open(page).text, page
    answer = shown.client.post(address, data={**shown.open(address).form("suspect").fields, "do": "hint"})
    assert answer.status_code == 422 and "in your own words" in answer.text
    shown.open(address).do("suspect", suspects="loose supply terminal")
    assert "Your suspects lie at: supply at the device" in re.sub("<[^>]+>", "", shown.text)
    for page in (f"{address}/check/power_lamp", f"{address}/repair"):
        assert says in shown.open(page).text, page


def test_the_first_lesson_and_the_words_of_the_trade(tmp_path: Path, exercises: ExerciseFolder) -> None:
    shown = tab(tmp_path, exercises).open("/practice")
    assert "/practice/first" in shown.text
    links = len(knowledge().walk)
    for step in range(1, links + 1):
        text = shown.open(f"/practice/first?step={step}").text
        assert shown.status == 200 and f"{step} of {links}:" in text
        assert f"step={step + 1}" in text and "The gate is sound" in text
    assert "A worked example" in shown.open(f"/practice/first?step={links + 1}").text
    for strange in ("x", "-1", "99999", "0"):
        assert shown.open(f"/practice/first?step={strange}").status == 200
    text = shown.open("/practice/first?step=9").text
    assert 'href="/practice/words#monitored_test"' in text
    words = shown.open("/practice/words").text
    assert all(f'id="{term}"' in words for term in knowledge().terms)
    assert "that is the test pulse" in shown.open("/practice/words?q=test+pulse").text
    assert 'id="fuse"' not in shown.text
    assert "not here" in shown.open("/practice/words?q=<b>zzz").text and "<b>zzz" not in shown.text


def test_precautions_stand_before_the_choice(tmp_path: Path, exercises: ExerciseFolder) -> None:
    shown = begun(tmp_path, exercises)
    address = shown.address
    text = shown.open(f"{address}/check/sup_volts_sensor").text
    assert text.index("two-pole tester") < text.index('name="prepared"')
    mend = shown.open(f"{address}/repair?cause=window_wet_drops").text
    assert mend.index("Set the ladder") < mend.index('name="prepared"')


def test_the_half_worked_gate_is_gone_on_with_on_a_page_and_counts_for_nothing(
    tmp_path: Path, exercises: ExerciseFolder
) -> None:
    last = tab(tmp_path, exercises).open("/practice/first?step=99")
    form = next(f for f in last.forms() if f.action == "/practice/half")
    shown = last.send(form, trainee="Beginner")
    (name,) = (n.stem for n in tmp_path.rglob("*.exercise"))
    opened = exercises.open(name)
    example = next(e for e in knowledge().examples.values() if e.given)
    assert (shown.status, opened.number) == (200, example.given)
    exercises.send(name, opened.number, FinishMove())
    assert exercises.everybody() == []


def test_the_trainer_s_page_names_everybody_with_trend_and_examination(
    tmp_path: Path, exercises: ExerciseFolder
) -> None:
    done = WorkedExercise(739000, 7, "exam", ("supply",), 90.0, 60.0, 40.0, 0.02, "solved", ())
    for name in ("Ann", "<b>Ben"):
        progress_file.save(tmp_path / "practice", Progress(name).after(done))
    shown = tab(tmp_path, exercises).open("/practice/trainees")
    assert shown.status == 200
    assert "Ann" in shown.text
    assert "<b>Ben" not in shown.text
    assert "1.50" in shown.text
    assert "Not ended: 1 of 4 gates" in shown.text


def test_nobody_helps_in_an_examination(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    exercises = ExerciseFolder(quick(), tmp_path / "practice", fixed)
    monkeypatch.setattr("diagnose.practice.exam.drawn_for", fixed)
    names = {lesson: exercises.begin("Ann", lesson) for lesson in ("exam", "first_steps")}
    for name in names.values():
        exercises.send(name, 0, SuspectMove("the supply"))
        exercises.send(name, 1, CheckMove("power_lamp", prepared=True))
    told = {lesson: stand_of(quick(), exercises.open(name), "").told for lesson, name in names.items()}
    assert told["exam"] == ()
    assert told["first_steps"]


def test_a_seed_that_is_no_number_is_refused(tmp_path: Path, exercises: ExerciseFolder) -> None:
    shown = tab(tmp_path, exercises).open("/practice")
    form = next(f for f in shown.forms() if f.action == "/practice")
    assert shown.send(form, trainee="Ann", seed="-3").status == 422
    assert not list(tmp_path.rglob("*.exercise"))
