"""The invented knowledge that speed is measured on: sound, repeatable, and as sparse as it says."""

from pathlib import Path

import pytest

from diagnose.kb.check import problems_of
from diagnose.kb.files import read_files, shipped_folder
from diagnose.kb.load import assemble, load_entries
from diagnose.model.bearing import bearing
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
    for table in ("causes", "effects", "checks", "findings", "rules", "scales", "settings"):
        assert getattr(again, table) == getattr(invented, table)


def test_the_same_seed_gives_the_same_knowledge(shipped: KnowledgeBase, invented: KnowledgeBase) -> None:
    assert synthetic(shipped, CAUSES) == invented != synthetic(shipped, CAUSES, seed=2)


@pytest.mark.parametrize("chains", [1, 3])
def test_it_is_as_large_as_asked_and_no_sparser_than_the_shipped(shipped: KnowledgeBase, chains: int) -> None:
    """At the shipped size and beyond; in a smaller one no check can bear on as many causes as its model does."""
    causes = chains * len(shipped.causes)
    made = synthetic(shipped, causes)
    assert len(made.causes) == causes
    assert len(made.findings) == len(made.rules) == round(PER_CAUSE * causes)
    assert len(made.effects) == chains * len(shipped.effects)
    links = [sum(len(bearing(kb, c)) for c in kb.causes.values()) / len(kb.causes) for kb in (made, shipped)]
    assert links[1] <= links[0] <= 2 * links[1]
