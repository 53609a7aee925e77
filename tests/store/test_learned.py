"""Learned frequencies are switched on deliberately, off again without a trace, never with other knowledge."""

import json
import stat
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from diagnose.core.learn import Learned, learn
from diagnose.errors import VisitError
from diagnose.model.history import Confirmed
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.learned import MAX_BYTES, Overlay
from tests.build import cause, knowledge


def taught(kb: KnowledgeBase, visits: int = 40) -> Learned:
    return learn(kb, [Confirmed(f"v{n}", (), ("b",)) for n in range(visits)])


@pytest.fixture
def kb() -> KnowledgeBase:
    return knowledge([cause("a", {}), cause("b", {})])


def test_switched_on_read_back_and_off_again(kb: KnowledgeBase, tmp_path: Path) -> None:
    overlay, learned = Overlay(tmp_path / "new folder"), taught(kb)
    assert overlay.weights(kb) is None
    assert not overlay.switch_off()
    overlay.switch_on(learned)
    assert overlay.read() == learned
    assert overlay.weights(kb) == learned.weights
    assert stat.S_IMODE(overlay.path.stat().st_mode) == 0o600
    overlay.switch_on(taught(kb, 80))
    assert overlay.weights(kb) == taught(kb, 80).weights
    assert overlay.switch_off()
    assert overlay.weights(kb) is None
    assert list(overlay.path.parent.iterdir()) == []


def test_other_knowledge_than_it_was_learned_against_is_refused(kb: KnowledgeBase, tmp_path: Path) -> None:
    overlay = Overlay(tmp_path)
    overlay.switch_on(taught(kb))
    changed = replace(kb, digest="another")
    with pytest.raises(VisitError, match=r"for knowledge test, but this is another; 'diagnose frequencies --on'"):
        overlay.weights(changed)
    overlay.switch_on(taught(changed))
    assert overlay.weights(changed) == taught(changed).weights


def damaged(learned: Learned, kind: str) -> bytes:
    plain = {"format": "gate-diagnose-learned-1", **asdict(learned)}
    return {
        "cut": json.dumps(plain).encode()[:100],
        "no table": b"[]",
        "not text": b"\xff\xfe\x00",
        "another format": json.dumps(plain | {"format": "other"}).encode(),
        "a field is missing": json.dumps({k: v for k, v in plain.items() if k != "weights"}).encode(),
        "a weight of zero": json.dumps(plain | {"weights": {"a": 0.0, "b": 1.0}}).encode(),
        "a weight without end": json.dumps(plain | {"weights": {"a": float("inf"), "b": 1.0}}).encode(),
        "a weight that is no number": json.dumps(plain | {"weights": {"a": float("nan"), "b": 1.0}}).encode(),
        "nested without end": b"[" * 100_000,
    }[kind]


KINDS = (
    "cut", "no table", "not text", "another format", "a field is missing", "a weight of zero",
    "a weight without end", "a weight that is no number", "nested without end",
)  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_is_refused_and_can_be_switched_off(kb: KnowledgeBase, tmp_path: Path, kind: str) -> None:
    overlay = Overlay(tmp_path)
    overlay.path.write_bytes(damaged(taught(kb), kind))
    with pytest.raises(VisitError, match=r"are damaged; .*'diagnose frequencies --off' goes without"):
        overlay.weights(kb)
    assert overlay.switch_off()
    assert overlay.weights(kb) is None


def test_a_file_too_large_is_not_read(kb: KnowledgeBase, tmp_path: Path) -> None:
    overlay = Overlay(tmp_path)
    overlay.path.write_bytes(b" " * (MAX_BYTES + 1))
    with pytest.raises(VisitError, match="larger than"):
        overlay.weights(kb)


def test_a_folder_that_cannot_be_made_or_read(kb: KnowledgeBase, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(VisitError, match="cannot write"):
        Overlay(tmp_path / "file").switch_on(taught(kb))
    overlay = Overlay(tmp_path)
    overlay.path.mkdir()
    with pytest.raises(VisitError, match="cannot read"):
        overlay.read()
    with pytest.raises(VisitError, match="cannot remove"):
        overlay.switch_off()
