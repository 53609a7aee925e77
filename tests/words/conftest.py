"""The pseudo-language, made once for all tests."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.kb.cache import load_english, load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import speaking
from tests.words.pseudo import write_pseudo


@pytest.fixture(scope="session")
def pseudo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its words in words/xx, and the shipped knowledge with a file of texts in knowledge/."""
    folder = tmp_path_factory.mktemp("pseudo")
    write_pseudo(load_english(shipped_folder("knowledge")), shipped_folder("knowledge"), folder)
    return folder


@pytest.fixture
def pseudo_kb(pseudo_folder: Path) -> Iterator[KnowledgeBase]:
    """The knowledge in the pseudo-language, which is spoken while the test runs."""
    with speaking(str(pseudo_folder / "words" / "xx")):
        yield load_knowledge(pseudo_folder / "knowledge")
