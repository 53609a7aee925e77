"""Knowledge that did not come with the program says so wherever a visit is begun, shown and recorded."""

import io
import shutil
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.cli.shared import carry_on
from diagnose.core.reason import Reasoner
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import digest, is_shipped, read_files, shipped_folder
from diagnose.model.visit import Setup
from diagnose.pack.build import payload
from diagnose.present.notices import own_says
from diagnose.present.record import Times
from diagnose.present.record_parts import records
from diagnose.session.events import Begin
from diagnose.session.session import conclude, step
from diagnose.store.journal import Journal
from diagnose.terminal.reader import PlainReader
from diagnose.terminal.screen import Screen
from tests.shipped import knowledge

OWN = replace(knowledge(), own=True)
SAYS = f"not the knowledge that came with the program: its digest is {OWN.digest}"


def test_only_what_came_with_the_program_is_the_shipped_one(tmp_path: Path) -> None:
    shipped, copy = shipped_folder("knowledge"), tmp_path / "copy"
    shutil.copytree(shipped, copy, ignore=shutil.ignore_patterns("cases", "review", "coverage"))
    assert is_shipped(shipped, knowledge().digest) and is_shipped(copy, digest(read_files(copy)))
    assert not load_knowledge(copy).own
    changed = next(copy.rglob("cautions.yaml"))
    changed.write_text(changed.read_text("utf-8") + "# weaker\n", "utf-8")
    assert not is_shipped(copy, digest(read_files(copy)))
    assert own_says(knowledge()) == "" and SAYS in own_says(OWN)


@pytest.mark.parametrize("told", [False, True])
def test_the_terminal_says_it_before_the_first_question(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, told: bool
) -> None:
    reasoner, out = Reasoner(OWN if told else knowledge()), io.StringIO()
    begin = Begin(Setup(devices=("laser",)), "ghost_opening", digest=OWN.digest)
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    with Journal.create(tmp_path, datetime(2026, 3, 1)) as journal:
        journal.append(begin)
        carry_on(reasoner, step(OWN, None, begin), journal, Screen(out, 400, plain=True), PlainReader(False))
    assert (SAYS in out.getvalue()) == told


def test_the_offline_page_and_both_records_carry_it() -> None:
    assert SAYS in payload(OWN, ())["own_says"] and payload(knowledge(), ())["own_says"] == ""
    session = step(OWN, None, Begin(Setup(devices=("laser",)), "ghost_opening", digest=OWN.digest))
    for kb, told in ((OWN, True), (knowledge(), False)):
        reasoner = Reasoner(kb)
        made = records(reasoner, session, conclude(reasoner, session), Times("1 March", "1 March"), "x")
        assert [SAYS in record.knowledge for record in made] == [told, told]
