"""Case files: every problem with its place, nothing unsafe read, nothing of them in the reasoning."""

from collections.abc import Callable, Mapping
from dataclasses import FrozenInstanceError, asdict, replace
from pathlib import Path
from typing import Any

import pytest

from diagnose.cases.check import case_problems, problems_of_cases
from diagnose.cases.coverage import FILE, coverage_problems, covered, read_coverage
from diagnose.cases.model import AFTER, RESTING, STATES, CaseState, Fault, FieldCase
from diagnose.cases.read import MAX_BYTES, read_case, read_folder
from diagnose.errors import KnowledgeError
from diagnose.kb.files import digest, read_files
from diagnose.kb.text import dumped
from diagnose.model.gear import slug
from tests.cases import made

KB = made.small()


def plain(value: Any) -> Any:
    """A case as the values that stand in its file."""
    if isinstance(value, dict):
        return {k: plain(v) for k, v in value.items()}
    return [plain(v) for v in value] if isinstance(value, list | tuple) else value


def written(tmp_path: Path, case: FieldCase, text: str | None = None) -> Path:
    path = tmp_path / f"{case.id}.yaml"
    path.write_text(text or dumped(plain(asdict(case))), "utf-8")
    return path


def says(case: FieldCase) -> list[str]:
    return [text for _, text in case_problems(KB, case)]


def encoded(case: FieldCase, **changes: Any) -> FieldCase:
    assert case.encoded
    return replace(case, encoded=replace(case.encoded, **changes))


def states(case: FieldCase) -> Mapping[str, CaseState]:
    assert case.encoded
    return case.encoded.states


def test_a_case_survives_its_file(tmp_path: Path) -> None:
    for case in (made.case(), made.pair()):
        assert read_case(written(tmp_path, case)).case == case
        assert says(case) == []


BROKEN: dict[str, Callable[[FieldCase], FieldCase]] = {
    "there is no check 'nowhere'": lambda c: encoded(c, states={"start": made.state({"nowhere": "x"})}),
    "it no longer fits the check": lambda c: encoded(c, states={"start": made.state({"lamp": "purple"})}),
    "there is no device 'attic'": lambda c: encoded(c, states={"start": made.state({"lamp@attic": "out"})}),
    "answered in two ways": lambda c: encoded(c, states={"start": made.state({"lamp": "out"}, healthy=("lamp",))}),
    "unknown complaint 'odd'": lambda c: encoded(c, complaints=("odd",)),
    "unknown link 'moon'": lambda c: encoded(c, states={"start": made.state(links=("moon",))}),
    "unknown cause 'gremlin'": lambda c: replace(c, faults=(Fault(says="x", mended_by=("gremlin",)),)),
    "faults; this case has 1": lambda c: replace(c, faults=()),
    "the state 'start' is missing": lambda c: encoded(c, states={}),
    "unknown state 'later'": lambda c: encoded(c, states={**states(c), "later": made.state()}),
    "the state 'resting' is missing": lambda c: replace(c, intermittent=True),
    "say which devices and links": lambda c: encoded(c, states={"start": replace(made.state(), touched=None)}),
    "unknown fact 'device.colour'": lambda c: encoded(c, profile={"device.colour": "red"}),
    "must be a number": lambda c: encoded(c, profile={"device.supply_min_v": "ten"}),
    "unknown check 'nowhere'": lambda c: encoded(c, must_not=("nowhere",)),
    "the chance that the trouble is there": lambda c: encoded(c, present=0.0),
    "a case is invented": lambda c: replace(c, invented=False),
    "observations; a case has": lambda c: replace(c, observations={"one": "thing"}),
    "unknown sensor kind 'magnet'": lambda c: replace(c, gear=(replace(c.gear[0], kind="magnet"),)),
    "go together": lambda c: replace(c, second_cause_family="power"),
}


@pytest.mark.parametrize("problem", BROKEN)
def test_each_thing_wrong_is_said(problem: str) -> None:
    assert any(problem in text for text in says(BROKEN[problem](made.case())))


def test_a_problem_says_file_line_and_column(tmp_path: Path) -> None:
    case = encoded(made.case(), states={"start": made.state({"lamp": "purple"})})
    path = written(tmp_path, case)
    (problem,) = problems_of_cases(KB, [read_case(path)])
    line = path.read_text("utf-8").splitlines()[problem.line - 1]
    assert problem.file == path.name
    assert line[problem.column - 1 :].startswith("lamp")


def test_an_answer_that_no_longer_fits_a_changed_check_is_reported(tmp_path: Path) -> None:
    """The lamp's option 'out' is taken away: the case that answers it says so."""
    lamp = KB.checks["lamp"]
    changed = replace(KB, checks={**KB.checks, "lamp": replace(lamp, options={"lit": "lit", "dim": "dim"})})
    filed = [read_case(written(tmp_path, made.case()))]
    assert problems_of_cases(KB, filed) == []
    assert any("no longer fits the check" in p.says for p in problems_of_cases(changed, filed))


def test_two_cases_with_one_id_and_a_file_of_another_name_are_said(tmp_path: Path) -> None:
    first = written(tmp_path, made.case())
    other = tmp_path / "other.yaml"
    other.write_text(first.read_text("utf-8"), "utf-8")
    found = " ".join(p.says for p in problems_of_cases(KB, [read_case(first), read_case(other)]))
    assert "is the id of c1.yaml too" in found
    assert "is named c1.yaml" in found


@pytest.mark.parametrize(
    "text", ["", "[1, 2]", "id: c1", "id: [", "\t", "a: &b 1", "id: c1\nid: c1", "x: !!python/x y"]
)
def test_what_is_no_case_is_refused_with_its_place_and_raises_nothing(tmp_path: Path, text: str) -> None:
    path = tmp_path / "c1.yaml"
    path.write_text(text, "utf-8")
    filed = read_case(path)
    assert filed.case is None
    assert all(p.line >= 1 and p.column >= 1 and p.says for p in filed.problems)
    assert filed.problems
    with pytest.raises(KnowledgeError):
        read_folder(tmp_path)


@pytest.mark.parametrize("data", [b"\xff\xfe bad", b"a" * (MAX_BYTES + 1)])
def test_a_file_that_cannot_be_read_is_refused_in_a_sentence(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "c1.yaml").write_bytes(data)
    with pytest.raises(KnowledgeError, match=r"UTF-8|larger"):
        read_case(tmp_path / "c1.yaml")


def test_the_reasoning_never_reads_a_case_nor_the_coverage_list(tmp_path: Path) -> None:
    """With and without them the knowledge has the same text and the same digest."""
    (tmp_path / "shared.yaml").write_text("sources: {}\n", "utf-8")
    before = digest(read_files(tmp_path))
    for folder in ("cases", "coverage"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "faults.yaml").write_text("causes: {gremlin: {}}\n", "utf-8")
    assert digest(read_files(tmp_path)) == before


def test_the_given_cases_are_for_learning_and_a_hash_halves_the_others() -> None:
    given = [made.case(f"FC{n:02d}") for n in range(1, 48)]
    others = [made.case(f"{letter}{n:02d}") for letter in "abcdefgh" for n in range(1, 101)]
    assert {c.half for c in given} == {"learning"}
    assert not any(c.fitting for c in given)
    judging = sum(c.half == "judging" for c in others)
    aside = [c for c in others if c.fitting]
    assert 340 <= judging <= 460  # 800 fair coins: 400 +- 4 standard deviations
    assert {c.half for c in aside} == {"learning"}
    assert 80 <= len(aside) <= 170


def test_a_device_is_named_by_its_words() -> None:
    assert slug("Laser over the entry, 2.6 m") == "laser_over_the_entry_2_6_m"


def test_every_state_a_case_may_have_is_documented() -> None:
    assert {RESTING, *AFTER} < set(STATES)


COVERAGE = """faults:
- {says: unplugged, devices: [loop], link: power, remedy: plug it in, lists: 3, mended_by: [unplugged]}
- {says: odd, devices: [any], link: power, remedy: think, lists: 1}
"""


def test_the_coverage_list_counts_faults_that_an_entry_mends(tmp_path: Path) -> None:
    (tmp_path / FILE.parent).mkdir()
    (tmp_path / FILE).write_text(COVERAGE, "utf-8")
    listed, document, problems = read_coverage(tmp_path)
    assert [*problems, *coverage_problems(KB, listed, document)] == []
    assert (covered(listed).hits, covered(listed).count) == (1, 2)
    assert (covered(listed, 2).hits, covered(listed, 2).count) == (1, 1)


def test_a_coverage_list_that_names_what_is_not_there_is_reported_with_its_line(tmp_path: Path) -> None:
    (tmp_path / FILE.parent).mkdir()
    (tmp_path / FILE).write_text(COVERAGE.replace("[unplugged]", "[gremlin]").replace("[any]", "[moon]"), "utf-8")
    listed, document, _ = read_coverage(tmp_path)
    found = list(coverage_problems(KB, listed, document))
    assert sorted((p.line, p.says) for p in found) == [(2, "unknown cause 'gremlin'"), (3, "unknown device 'moon'")]
    assert read_coverage(tmp_path / "nowhere")[0].faults == ()


def test_a_case_is_a_frozen_record() -> None:
    with pytest.raises(FrozenInstanceError):
        made.case().complaint = "another"  # type: ignore[misc]  # that it may not be done is what is tested
