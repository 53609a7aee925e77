"""The invented knowledge that speed is measured on: sound, repeatable, and as sparse as it says."""

from pathlib import Path

import pytest

from diagnose.kb.check import problems_of
from diagnose.kb.files import read_files, shipped_folder
from diagnose.kb.load import assemble, load_entries
from diagnose.model.knowledge import KnowledgeBase
from tests.bench.synthetic import PER_CAUSE, synthetic, write

CAUSES = 120


@pytest.fixture(scope="module")
def shipped() -> KnowledgeBase:
    return assemble(load_entries(read_files(shipped_folder("knowledge"))), "shipped")


@pytest.fixture(scope="module")
def invented(shipped: KnowledgeBase) -> KnowledgeBase:
    return synthetic(shipped, CAUSES)


def test_it_passes_the_knowledge_check_and_reads_back_alike(invented: KnowledgeBase, tmp_path: Path) -> None:
    write(invented, tmp_path)
    loaded = load_entries(read_files(tmp_path))
    assert problems_of(loaded) == []
    again = assemble(loaded, invented.digest)
    for table in ("causes", "checks", "findings", "rules", "scales", "settings"):
        assert getattr(again, table) == getattr(invented, table)


def test_the_same_seed_gives_the_same_knowledge(shipped: KnowledgeBase, invented: KnowledgeBase) -> None:
    assert synthetic(shipped, CAUSES) == invented != synthetic(shipped, CAUSES, seed=2)


def test_it_is_as_large_as_asked_and_no_sparser_than_the_shipped(
    shipped: KnowledgeBase, invented: KnowledgeBase
) -> None:
    assert len(invented.causes) == CAUSES
    assert len(invented.findings) == len(invented.rules) == PER_CAUSE * CAUSES
    links = [sum(len(c.signs) for c in kb.causes.values()) / len(kb.causes) for kb in (invented, shipped)]
    assert links[1] <= links[0] <= 2 * links[1]
