"""A manager's figures on visits whose numbers are known, and the command that shows them."""

import csv
import io
import json
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.model.history import Remedied, VisitEnd, VisitRecord
from diagnose.present.overview import Group, came_back, overview_of
from diagnose.store.history.history import History
from tests.shipped import knowledge

CAUSE = "window_wet_drops"


def visit(name: str, day: str, site: str = "yard / gate 1", **changes: object) -> VisitRecord:
    plain = {"id": name, "began": f"{day}T12:00:00+00:00", "ended": f"{day}T13:00:00+00:00", "site": site} | changes
    return VisitRecord(**plain)  # type: ignore[arg-type]


VISITS = (
    visit("a", "2026-01-10", devices=("laser",), repairs=(Remedied(CAUSE, "failed"), Remedied(CAUSE, "passed")),
          outcome=VisitEnd(causes=(CAUSE,), how="in_service"), took=40.0, expected=30.0),
    visit("b", "2026-02-09", "Yard /  Gate 1", devices=("loop",), outcome=VisitEnd(causes=(), how="dispatched"),
          took=20.0, expected=10.0),
    visit("c", "2026-02-10", "yard / gate 2", outcome=VisitEnd(causes=(), how="left_out")),
    visit("d", "2026-03-20", ""),
)  # fmt: skip


def group(by: str, name: str) -> Group:
    (found,) = (g for g in overview_of(knowledge(), VISITS).groups[by] if g.name.startswith(name))
    return found


@pytest.mark.parametrize(("day", "back"), [("2026-02-09", True), ("2026-02-10", False)])
def test_thirty_days_after_the_end_are_the_last_to_come_back_in(day: str, back: bool) -> None:
    first = visit("a", "2026-01-10", ended="2026-01-10T12:00:00+00:00")
    assert ("a" in came_back([visit("b", day), first])) is back


def test_only_the_same_gate_comes_back_and_no_gate_without_a_name() -> None:
    assert came_back(VISITS) == {"a"}
    assert came_back([visit("a", "2026-01-10", ""), visit("b", "2026-01-11", "")]) == frozenset()


def test_groups_count_what_was_there() -> None:
    assert group("site", "yard") == Group("site", "yard", 3, 1, 2, 1, 60.0, 40.0, 2, 1, 1)
    assert group("gate", "yard / gate 1").visits == 2
    assert group("cause", knowledge().causes[CAUSE].says).proof_rate == 0.5
    assert group("month", "2026-02").visits == 2
    assert [g.name for g in overview_of(knowledge(), VISITS).groups["month"]] == ["2026-01", "2026-02", "2026-03"]
    assert group("device", knowledge().devices["laser"]).came_back == 1


def test_parts_are_those_of_the_remedies_carried_out() -> None:
    made = overview_of(knowledge(), VISITS)
    assert dict(made.parts) == dict.fromkeys(knowledge().causes[CAUSE].remedy.parts, 2)
    parted = next(id for id, cause in knowledge().causes.items() if cause.remedy.parts)
    repaired = visit("p", "2026-01-01", repairs=(Remedied(parted),))
    assert set(dict(overview_of(knowledge(), [repaired]).parts)) == set(knowledge().causes[parted].remedy.parts)


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    file = str(tmp_path / "history.db")
    with History(file) as history:
        history.save_all(VISITS)
    return file


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    assert main(["overview", *words]) == 0
    return capsys.readouterr().out


def test_the_command_says_it_in_words_in_json_and_as_a_table(kept: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = said(capsys, "--database", kept)
    assert "yard: 3 visits; one followed by another within 30 days; 1 of 2 repairs proved; 30 min a visit" in text
    found = json.loads(said(capsys, "--database", kept, "--json", "--by", "site"))["groups"]
    rows = [*csv.DictReader(io.StringIO(said(capsys, "--database", kept, "--csv", "-", "--by", "site")))]
    assert [(r["by"], r["name"], str(r["visits"] or "")) for r in found] == [
        (r["by"], r["name"], r["visits"]) for r in rows
    ]
    assert found[1]["proof_rate"] == 0.5


def test_days_leave_visits_out_but_not_what_came_back_of_those_left(
    kept: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = json.loads(said(capsys, "--database", kept, "--json", "--to", "2026-01-31"))["groups"]
    assert (found[0]["visits"], found[0]["came_back"]) == (1, 1)


def test_a_formula_in_a_name_stays_a_name(kept: str, capsys: pytest.CaptureFixture[str]) -> None:
    with History(kept) as history:
        history.save(visit("f", "2026-05-05", '=HYPERLINK("x")'))
    rows = csv.reader(io.StringIO(said(capsys, "--database", kept, "--csv", "-")))
    assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@"))]


def test_what_cannot_be_grouped_by_is_said(kept: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["overview", "--database", kept, "--by", "colour"]) == 2
    assert "--by takes site, gate" in capsys.readouterr().err
