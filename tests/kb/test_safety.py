"""The safety register: every single weakening of the shipped knowledge is seen, and making it stricter is free."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli import main
from diagnose.errors import KnowledgeError
from diagnose.kb.check import read_register
from diagnose.kb.files import shipped_folder
from diagnose.kb.safety import FILE, differences, register_text, safety_of, weakened
from diagnose.model.knowledge import KnowledgeBase
from tests.shipped import knowledge

Change = tuple[str, KnowledgeBase]


def changed(kb: KnowledgeBase, section: str, entry: str, **fields: Any) -> KnowledgeBase:
    table = getattr(kb, section)
    changes: dict[str, Any] = {section: {**table, entry: replace(table[entry], **fields)}}
    return replace(kb, **changes)


def remedied(kb: KnowledgeBase, cause: str, **fields: Any) -> KnowledgeBase:
    return changed(kb, "causes", cause, remedy=replace(kb.causes[cause].remedy, **fields))


def rules_deleted(kb: KnowledgeBase) -> Iterator[Change]:
    for rule in kb.rules.values():
        if rule.then.stop_work or rule.then.caution:
            yield f"{rule.id} deleted", replace(kb, rules={r: v for r, v in kb.rules.items() if r != rule.id})


def orders_taken_out(kb: KnowledgeBase) -> Iterator[Change]:
    for rule in kb.rules.values():
        if rule.then.stop_work:
            yield f"{rule.id} orders nothing", changed(kb, "rules", rule.id, then=replace(rule.then, stop_work=""))
            extra = {**rule.when, "role": ("technician",)}
            if "role" not in rule.when:
                yield f"{rule.id} narrowed", changed(kb, "rules", rule.id, when=extra)


def electricians_made_technicians(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        if cause.remedy.who == "electrician":
            yield f"{cause.id} for a technician", remedied(kb, cause.id, who="technician")
    for check in kb.checks.values():
        if check.who != "caller":
            yield f"{check.id} for a caller", changed(kb, "checks", check.id, who="caller", ask_caller="do it")
    for group in kb.access.values():
        if group.who == "electrician":
            yield f"{group.id} for a technician", changed(kb, "access", group.id, who="technician")


def proofs_emptied(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        if cause.remedy.touches:
            yield f"{cause.id} touches nothing", remedied(kb, cause.id, touches=())
    for proof in kb.proofs.values():
        if proof.protective:
            yield f"{proof.id} not protective", changed(kb, "proofs", proof.id, protective=False)
            never = {"fitted.loop": ("fitted",), "fitted.edge": ("none",), **proof.when}
            yield f"{proof.id} only sometimes", changed(kb, "proofs", proof.id, when=never)
        for name, nothing in (("after", ()), ("after_caution", {}), ("never_waved_after", ())):
            if getattr(proof, name):
                yield f"{proof.id} without {name}", changed(kb, "proofs", proof.id, **{name: nothing})


def marks_removed(kb: KnowledgeBase) -> Iterator[Change]:
    for check in kb.checks.values():
        for mark in ("runs_gate", "hazard"):
            if getattr(check, mark):
                yield f"{check.id} without {mark}", changed(kb, "checks", check.id, **{mark: False})
        if check.access:
            yield f"{check.id} without access", changed(kb, "checks", check.id, access="")
        if check.cautions:
            yield f"{check.id} without cautions", changed(kb, "checks", check.id, cautions=())


def cautions_emptied(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        if cause.remedy.cautions:
            yield f"{cause.id} without cautions", remedied(kb, cause.id, cautions=())
    for caution in kb.cautions.values():
        if caution.stop_work:
            yield f"{caution.id} stops nothing", changed(kb, "cautions", caution.id, stop_work=False)
    for group in kb.access.values():
        if group.cautions:
            yield f"{group.id} without cautions", changed(kb, "access", group.id, cautions=())


WAYS: tuple[Callable[[KnowledgeBase], Iterator[Change]], ...] = (
    rules_deleted, orders_taken_out, electricians_made_technicians, proofs_emptied, marks_removed, cautions_emptied,
)  # fmt: skip


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_every_single_weakening_is_seen(way: Callable[[KnowledgeBase], Iterator[Change]]) -> None:
    register = safety_of(knowledge())
    tried = {name: list(weakened(register, safety_of(weaker))) for name, weaker in way(knowledge())}
    assert len(tried) >= 4
    assert [name for name, found in tried.items() if not found] == []


def test_the_shipped_register_fits_the_shipped_knowledge() -> None:
    register = read_register(shipped_folder("knowledge"))
    assert list(weakened(register, safety_of(knowledge()))) == []
    assert len(register) > 500


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
