"""The examination: what is asked for, its record, and the table of all exercises."""

import csv
import io

import pytest

from diagnose.practice import exam
from diagnose.practice.exam import GATES, NEEDED, RATIO, next_gate, sittings, unseen
from diagnose.practice.lessons import families_of
from diagnose.practice.progress import Progress
from diagnose.present.exam import exam_record
from diagnose.present.practised import practised
from diagnose.present.tables import csv_text
from diagnose.present.trainees import group_trend, trend_says
from diagnose.report.exam_page import exam_page
from tests.practice.gates import shipped
from tests.practice.test_climb import after, done


def sat(*ratios: float) -> Progress:
    return after(*(done("exam", minutes=40.0 * r) for r in ratios))


def test_passed_is_most_gates_by_evidence_none_unsafe_and_hardly_longer_than_the_program() -> None:
    def verdict(progress: Progress) -> bool:
        return sittings(progress)[-1].passed

    good, slow = [done("exam", minutes=40.0 * RATIO)] * GATES, done("exam", minutes=41.0 * RATIO)
    failed, unsafe = done("exam", ended="left_out"), done("exam", ended="unsafe")
    lucky = done("exam", passed=False)
    assert verdict(after(*good))
    assert not verdict(after(*good[1:], slow))
    assert verdict(after(*good[1:], failed)) is (NEEDED < GATES)
    assert not verdict(after(*good[1:], unsafe))
    assert not verdict(after(*good[2:], failed, lucky))
    assert not verdict(after(*good[1:]))
    assert [s.passed for s in sittings(after(*good, *good[:1]))] == [True, False]


def test_the_gates_are_of_parts_practised_least_and_none_twice() -> None:
    families = ("supply", "wiring", "zone", "output", "gate")
    progress = after(*(done("first_steps", families=(f,)) for f in ("supply", "supply", "wiring")))
    had = list[str]()
    for number in range(1, GATES + 1):
        assert next_gate(progress) == number
        had.append(unseen(progress, families, number, 5))
        progress = progress.after(done("exam", families=(had[-1],)))
    assert set(had[:3]) == {"zone", "output", "gate"}
    assert had[3] == "wiring"
    assert next_gate(progress) == 1


def test_a_gate_that_was_left_untouched_comes_again_and_a_seed_gives_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(exam, "drawn_for", lambda *given: given[2:])
    ann, ben = sat(1.0), after(done("exam", families=("wiring",)))
    assert exam.exam_gate(shipped(), ann) == exam.exam_gate(shipped(), ann)
    assert exam.exam_gate(shipped(), ann, 5) == exam.exam_gate(shipped(), ben, 5)
    assert exam.exam_gate(shipped(), ann, 5) != exam.exam_gate(shipped(), ann, 6)
    assert [exam.exam_gate(shipped(), sat(*[1.0] * n), 5)[0].faults for n in range(GATES)] == [1, 1, 1, 2]


def test_the_record_says_every_gate_and_has_lines_to_sign() -> None:
    (sitting,) = sittings(sat(1.0, 1.0, 1.1, 1.0))
    record = exam_record(sitting, families_of(shipped().kb))
    page = exam_page(record).decode()
    assert "Passed: 4 of 4 gates, 1.02 times" in page
    assert page.count("<tr>") == 1 + GATES
    assert page.count("_" * 30) == len(record.sign) == 2
    assert "<script" not in exam_page(exam_record(sittings(Progress("<script>").after(done("exam")))[0], {})).decode()


def test_the_table_has_a_row_for_each_exercise_and_no_formula() -> None:
    table = practised(
        [Progress("=cmd()").after(done("first_steps", slips=("settled",))), sat(1.5)], {"supply": "feed"}
    )
    rows = list(csv.DictReader(io.StringIO(csv_text(table))))
    assert [r["trainee"] for r in rows] == ["'=cmd()", "Ann"]
    assert (rows[0]["date"], rows[0]["parts"], rows[0]["slips"], rows[1]["ratio"]) == (
        "2024-04-24",
        "feed",
        "settled",
        "1.5",
    )


def test_trends_are_minutes_to_the_program_s_in_blocks() -> None:
    """By hand: 40 and 80 of 40 minutes are 1.5 times; then 40 of 40."""
    ann = sat(1.0, 2.0, 1.0, 2.0, 1.0)
    assert "1.50, 1.00" in trend_says(ann.worked)
    said = group_trend([ann, sat(3.5, 3.5, 3.5, 3.5)])
    assert "2.50" in said[0]
    assert "one trainee: 1.00" in said[1]
    assert trend_says(()) == ""
