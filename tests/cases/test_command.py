"""`diagnose cases` as a person calls it, on a small folder of invented cases over a small knowledge base."""

import json
from dataclasses import asdict
from pathlib import Path

import pytest

from diagnose.cases.model import Fault, FieldCase
from diagnose.cases.read import read_case
from diagnose.cli import main
from diagnose.kb.text import dumped
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session.checklist import open_items
from diagnose.session.events import Begin, Close, Event, Proved, Repaired, Reply, Ticked
from diagnose.session.session import replay
from diagnose.store.journal import Journal
from tests.cases import made
from tests.cases.test_check import plain
from tests.kb.minimal import FILES
from tests.shipped import knowledge

NAMES = [f"z{i:02d}" for i in range(100)]


def a_case(name: str) -> FieldCase:
    """A loose wire: of the small knowledge base one check is answered and no more."""
    start = made.state({"made_safe": "yes", "lamp": "out"}, links=("wiring",), nobody=("volts", "extra"))
    return made.case(name, states={"start": start}, faults=(Fault(says="loose", mended_by=("loose",)),))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three cases, and beside them the knowledge they are about."""
    for name, text in FILES.items():
        path = tmp_path / "knowledge" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    (tmp_path / "cases").mkdir()
    for group in ("open", "aside", "judging"):
        put(tmp_path / "cases", next(n for n in NAMES if _group(n) == group))
    return tmp_path / "cases"


def put(folder: Path, name: str) -> None:
    (folder / f"{name}.yaml").write_text(dumped(plain(asdict(a_case(name)))), "utf-8")


def cases(folder: Path, *more: str) -> int:
    """The command, on a folder of cases and its knowledge."""
    return main(["cases", str(folder), "--knowledge", str(folder.parent / "knowledge"), *more])


def _group(name: str) -> str:
    case = made.case(name)
    return "judging" if case.half == "judging" else "aside" if case.fitting else "open"


def names(folder: Path, group: str) -> list[str]:
    return [p.stem for p in folder.glob("*.yaml") if _group(p.stem) == group]


def test_a_folder_is_played_and_only_the_open_cases_are_told_one_by_one(
    folder: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    page = tmp_path / "page.html"
    assert cases(folder, "--quick", "--processes", "1", "--html", str(page), "--plain") == 0
    told = capsys.readouterr().out
    for text in (told, page.read_text("utf-8")):
        assert names(folder, "open")[0] in text
        for hidden in names(folder, "judging") + names(folder, "aside"):
            assert hidden not in text
        assert "Judging half" in text


def test_json_holds_totals_of_both_halves_and_only_the_open_cases(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cases(folder, "--quick", "--processes", "1", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["schema"] == 1
    assert set(found["halves"]) == {"learning", "judging"}
    assert [c["id"] for c in found["cases"]] == names(folder, "open")
    assert found["halves"]["learning"]["as_it_is"]["cases"] == 2


def test_the_whole_run_has_spoilt_visits_and_other_ways_of_asking(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cases(folder, "--only", names(folder, "open")[0], "--processes", "1", "--json") == 0
    runs = json.loads(capsys.readouterr().out)["halves"]["learning"]
    assert {"as_it_is", "one_wrong", "few_botched", "all_botched"} < set(runs)
    assert {"fixed_order", "usual_order", "entropy"} < set(runs)


def test_the_same_seed_plays_the_same(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = []
    for _ in range(2):
        cases(folder, "--quick", "--processes", "1", "--json")
        told.append(capsys.readouterr().out)
    assert told[0] == told[1]


def test_a_figure_that_fell_against_the_record_fails_the_command(
    folder: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Nothing fell against the run itself; against a record in which hardly any case took a question, all did."""
    for name in [n for n in NAMES if _group(n) == "open"][:12]:
        put(folder, name)
    record = tmp_path / "record.json"
    args = ["--quick", "--processes", "1", "--half", "learning", "--baseline", str(record)]
    assert cases(folder, *args, "--record") == 0
    held = json.loads(record.read_text("utf-8"))
    assert set(names(folder, "open")) <= set(held)
    assert cases(folder, *args) == 0
    assert "FELL" not in capsys.readouterr().out
    better = {c: {**figures, "questions until concluded": n / 100} for n, (c, figures) in enumerate(held.items())}
    record.write_text(json.dumps(better), "utf-8")
    assert cases(folder, *args) == 1
    assert "FELL" in capsys.readouterr().out


def test_wrong_use_is_a_sentence(folder: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    other_half = ["--half", "judging", "--only", names(folder, "open")[0]]
    for args in (["--only", "nobody"], ["--processes", "0"], other_half):
        assert cases(folder, "--quick", *args) == 2
    assert main(["cases", str(tmp_path / "nowhere")]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_the_sheet_lists_what_a_case_has_to_answer(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(next(folder.glob("*.yaml")))
    knows = ("--knowledge", str(folder.parent / "knowledge"))
    assert main(["cases", "--sheet", path, *knows]) == 0
    whole = capsys.readouterr().out
    assert main(["cases", "--sheet", path, "--open", *knows]) == 0
    left = capsys.readouterr().out
    assert 0 < len(left) < len(whole)
    assert "; nobody]" in whole
    assert "; nobody]" not in left


def closed_visit(kb: KnowledgeBase) -> tuple[list[Event], Cause]:
    """Events of a visit that found, mended and proved one thing, and put the gate back in service."""
    cause = next(c for c in kb.causes.values() if c.devices == ("loop",) and c.remedy.who == "technician")
    begin = Begin(Setup(devices=("loop",)), next(iter(cause.complaints)), "it never sees the cars", id="1")
    events: list[Event] = [
        begin,
        Reply("anyone_touched", "nobody"),
        Repaired(cause.id, "done"),
        Proved(True, "12 of 12 cars seen"),
    ]
    items = open_items(kb, replay(kb, events))
    events += [Ticked(item.id, "pass", "seen") for item in items]
    return [*events, Close("in_service")], cause


def test_a_closed_visit_becomes_a_case_that_a_person_completes_and_that_plays(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from datetime import datetime

    kb = knowledge()
    events, cause = closed_visit(kb)
    with Journal.create(tmp_path / "visits", datetime(2026, 1, 2, 3, 4)) as journal:
        for event in events:
            journal.append(event)
    args = ["cases", "--from-visit", "last", "--visits", str(tmp_path / "visits"), "-o", str(tmp_path)]
    assert main(args) == 0
    (path,) = tmp_path.glob("*.yaml")
    written = path.read_text("utf-8")
    path.write_text(f"{written}# begun by hand\n", "utf-8")
    assert main(args) == 2  # never over another file that is there
    path.write_text(written, "utf-8")
    filed = read_case(path)
    assert filed.case is None
    assert ["TO DO" in str(p) or "invented" in str(p) for p in filed.problems] == [True] * len(filed.problems)
    text = path.read_text("utf-8")
    assert "it never sees the cars" in text
    assert "12 of 12 cars seen" in text
    first = next(line for line in text.splitlines() if line.startswith("invented"))
    path.write_text(text.replace(first, "invented: true"), "utf-8")
    done = read_case(path).case
    assert done
    assert done.encoded
    assert done.faults[0].mended_by == (cause.id,)
    assert done.encoded.states["start"].answers == {"anyone_touched": "nobody"}
    capsys.readouterr()
    assert main(["cases", str(tmp_path), "--quick", "--processes", "1"]) == 1  # played, and says what is missing
    assert "of the answers are not encoded" in capsys.readouterr().err


def test_an_open_visit_is_no_case(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from datetime import datetime

    events, _ = closed_visit(knowledge())
    with Journal.create(tmp_path, datetime(2026, 1, 2, 3, 4)) as journal:
        journal.append(events[0])
    assert main(["cases", "--from-visit", "last", "--visits", str(tmp_path), "-o", str(tmp_path)]) == 2
    assert "only a closed visit" in capsys.readouterr().err
