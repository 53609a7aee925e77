"""The safety register: every single weakening of the shipped knowledge is seen, and making it stricter is free."""

from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.errors import KnowledgeError
from diagnose.kb.check import read_register
from diagnose.kb.files import shipped_folder
from diagnose.kb.safety import FILE, register_text, safety_of
from diagnose.kb.weaker import differences, weakened
from tests.kb.weakenings import WAYS, Way, remedied
from tests.shipped import knowledge


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_every_single_weakening_is_seen(way: Way) -> None:
    register = safety_of(knowledge())
    changes = list(way(knowledge()))
    sample = changes[:: max(1, len(changes) // 40)]  # all of them: python -m tests.kb.weakenings
    tried = {name: list(weakened(register, safety_of(weaker))) for name, weaker in sample}
    assert len(tried) >= 4
    assert [name for name, found in tried.items() if not found] == []


def test_the_shipped_register_fits_the_shipped_knowledge() -> None:
    register = read_register(shipped_folder("knowledge"))
    fields = {entry: each for entry, each in register.items() if entry != "sealed"}
    assert list(weakened(fields, safety_of(knowledge()))) == []
    assert len(fields) > 500


def test_making_an_entry_stricter_is_no_weakening_but_is_a_difference() -> None:
    kb = knowledge()
    cause = next(c for c in kb.causes.values() if c.remedy.who == "technician")
    stricter = remedied(kb, cause.id, who="electrician", cautions=(*cause.remedy.cautions, "storm"))
    assert list(weakened(safety_of(kb), safety_of(stricter))) == []
    assert {entry for entry, _ in differences(safety_of(kb), safety_of(stricter))} == {f"causes.{cause.id}"}


def test_an_entry_that_nobody_registered_is_seen() -> None:
    register = dict(safety_of(knowledge()))
    gone = register.pop(next(e for e in register if e.startswith("checks.")))
    assert [says for _, says in weakened(register, safety_of(knowledge()))] == ["is not in the safety register yet"]
    assert gone


def test_a_register_survives_its_file(tmp_path: Path) -> None:
    (tmp_path / FILE).parent.mkdir()
    (tmp_path / FILE).write_text(register_text(safety_of(knowledge())), "utf-8")
    assert read_register(tmp_path) == safety_of(knowledge())


@pytest.mark.parametrize("text", ["[1]", "a: [", "", "a: 1"])
def test_a_spoiled_register_is_refused_in_a_sentence(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE).parent.mkdir()
    (tmp_path / FILE).write_text(text, "utf-8")
    with pytest.raises(KnowledgeError, match="register"):
        read_register(tmp_path)


def test_weakened_yaml_fails_the_check_with_its_place_until_it_is_registered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """End to end: a stop-work rule taken out of the YAML text of a copy of the shipped knowledge."""
    import shutil

    folder = tmp_path / "knowledge"
    shutil.copytree(shipped_folder("knowledge"), folder, ignore=shutil.ignore_patterns("cases", "coverage"))
    assert main(["check-knowledge", str(folder)]) == 0
    path = folder / "edge" / "kind.yaml"
    path.write_text(path.read_text("utf-8").replace("protective: true", "protective: false"), "utf-8")
    capsys.readouterr()
    assert main(["check-knowledge", str(folder)]) == 1
    told = capsys.readouterr().out
    assert "edge/kind.yaml:" in told
    assert "protective was true and is not" in told
    assert main(["check-knowledge", str(folder), "--register"]) == 0
    assert "proofs.edge: protective" in capsys.readouterr().out
    assert main(["check-knowledge", str(folder)]) == 0


def test_the_difference_between_two_folders_is_told_entry_by_entry(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import shutil

    folder = tmp_path / "knowledge"
    shutil.copytree(shipped_folder("knowledge"), folder, ignore=shutil.ignore_patterns("cases", "coverage"))
    path = folder / "edge" / "kind.yaml"
    path.write_text(path.read_text("utf-8").replace("protective: true", "protective: false"), "utf-8")
    assert main(["check-knowledge", str(folder), "--difference", str(shipped_folder("knowledge"))]) == 0
    told = capsys.readouterr().out
    assert "one difference in safety" in told


UNSEEN = [  # of 334 edits by somebody who had not seen the register: what no field of it tells
    ("heard/speech.yaml", "dropped: [", "dropped: [shock, child, "),
    ("heard/danger.yaml", "elsewhere: [", "elsewhere: [gate, child, "),
    ("shared/settings.yaml", "conclude_at: 0.60", "conclude_at: 0.05"),
    ("shared/settings.yaml", "[anyone_touched, gate_made_safe,", "[gate_made_safe, anyone_touched,"),
    ("supply/checks.yaml", "good: ", "good: Go on. "),
    ("first_looks/checks.yaml", "minutes: 0.5", "minutes: 500"),
    ("shared/chain.yaml", "hides: [", "hides: [decision, "),
    ("edge/causes.yaml", "proof_minutes: ", "proof_minutes: 1"),
    ("shared/families.yaml", "link: monitoring", "link: sight"),
    ("shared/tools.yaml", "test piece", "test piece or a person"),
]


@pytest.mark.parametrize(("file", "was", "now"), UNSEEN)
def test_what_no_field_tells_is_sealed(
    file: str, was: str, now: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import shutil

    folder = tmp_path / "knowledge"
    left_out = shutil.ignore_patterns("cases", "coverage", "review")
    shutil.copytree(shipped_folder("knowledge"), folder, ignore=left_out)
    assert main(["check-knowledge", str(folder)]) == 0
    text = (folder / file).read_text("utf-8")
    assert was in text
    (folder / file).write_text(text.replace(was, now, 1), "utf-8")
    capsys.readouterr()
    assert main(["check-knowledge", str(folder)]) == 1
    assert "knowledge:1:1" in capsys.readouterr().out
