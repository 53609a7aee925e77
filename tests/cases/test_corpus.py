"""The shipped corpus as a whole: size and mixture, and that the knowledge check passes it. No case by name."""

from collections.abc import Callable
from functools import cache

from diagnose.cases.check import problems_of_cases
from diagnose.cases.model import FieldCase
from diagnose.cases.read import case_files, read_all, shipped_cases
from tests.shipped import knowledge


@cache
def corpus() -> tuple[FieldCase, ...]:
    return tuple(f.case for f in read_all(case_files(shipped_cases())) if f.case)


def share(held: Callable[[FieldCase], bool]) -> float:
    cases = corpus()
    return sum(map(held, cases)) / len(cases)


def test_every_case_fits_the_knowledge_and_is_marked_invented() -> None:
    filed = list(read_all(case_files(shipped_cases())))
    assert [str(p) for p in problems_of_cases(knowledge(), filed)] == []
    assert len(corpus()) == len(filed)
    assert all(case.invented for case in corpus())


def test_there_are_two_hundred_and_enough_of_them_are_encoded_in_both_halves() -> None:
    assert len(corpus()) >= 200
    encoded = [c for c in corpus() if c.encoded]
    assert len(encoded) >= 80
    new = [c for c in encoded if not c.id.startswith("FC")]
    halves = [c.half for c in new]
    assert min(halves.count("learning"), halves.count("judging")) >= 28


def test_the_mixture_is_the_field_s() -> None:
    """The quotas that were set before the cases were written."""
    assert share(lambda c: len(c.gear) > 1) >= 0.5
    assert 0.2 <= share(lambda c: c.second_cause is not None) <= 0.3
    assert 0.08 <= share(lambda c: c.kind == "outside") <= 0.12
    assert 0.06 <= share(lambda c: c.kind == "designed") <= 0.12
    assert 0.35 <= share(lambda c: c.by_phone) <= 0.45
    assert share(lambda c: c.intermittent) >= 0.15
    pairs = [c for c in corpus() if c.second_cause]
    assert sum(c.second_cause_device != c.true_cause_device for c in pairs) >= len(pairs) / 2
    assert {c.sensor_family for c in corpus()} >= {
        "laser_scanner", "photo_eye", "inductive_loop", "radar", "safety_edge",
    }  # fmt: skip


def test_every_case_says_which_entries_mend_it_or_that_none_does() -> None:
    wanted = [c for c in corpus() if c.kind != "outside"]
    assert all(len(c.faults) == (2 if c.second_cause else 1) for c in wanted)
    assert not any(c.faults for c in corpus() if c.kind == "outside")
