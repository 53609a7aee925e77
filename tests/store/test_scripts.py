"""Scripts of invented visits."""

from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.kb.files import shipped_folder
from diagnose.model.visit import Setup
from diagnose.session.session import step
from diagnose.store.scripts import MAX_BYTES, load_script
from diagnose.terminal.reader import HEARD, ROUND
from tests.shipped import knowledge

GOOD = "title: t\ninvented: true\ncomplaint: ghost_opening\n"


def script(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "own.yaml"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize("path", sorted(shipped_folder("transcripts_demo").glob("*.yaml")), ids=lambda p: p.stem)
def test_shipped_scripts_are_invented_and_begin_and_answer_known_checks(path: Path) -> None:
    found, kb = load_script(path), knowledge()
    assert found.invented
    assert step(kb, None, found.begin(kb.digest)).complaint == found.complaint
    assert {*found.answers, *found.first} <= {*kb.checks, HEARD, ROUND}


def test_one_line_or_number_stands_for_a_list_of_one(tmp_path: Path) -> None:
    found = load_script(script(tmp_path, GOOD + "answers:\n  a: steady\n  b: [help, 9.8]\n  c: 3\nfirst: {d: 2}\n"))
    assert found.answers == {"a": ("steady",), "b": ("help", "9.8"), "c": ("3",)}
    assert found.first == {"d": 2}
    assert (found.role, found.at_end, found.devices) == ("technician", (), ())


def test_the_opening_event_holds_the_profiles(tmp_path: Path) -> None:
    text = GOOD + "words: w\nsite: s\nelectrician: true\ndevices: [laser]\nprofiles: [demo_site]\n"
    begin = load_script(script(tmp_path, text)).begin("d")
    assert (begin.complaint, begin.words, begin.site, begin.digest) == ("ghost_opening", "w", "s", "d")
    assert begin.setup == Setup("technician", True, None, ("laser",), begin.setup.profile)
    assert begin.setup.profile["site.supply_v"] == 24.0


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "own.yaml:1:1"),
        ("- 1", "own.yaml:1:1"),
        ("title: t", "invented"),
        (GOOD + "rôle: x", "own.yaml:4:1"),
        (GOOD + "role: owner", "own.yaml:4:1"),
        (GOOD + "answers: 3", "own.yaml:4:1"),
        (GOOD + "at_end: likely", "own.yaml:4:1"),
        (GOOD + "title: again", "already given on line 1"),
        (GOOD + "answers: {", "own.yaml"),
    ],
)
def test_a_malformed_script_is_refused_with_its_line(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(VisitError) as error:
        load_script(script(tmp_path, text))
    assert says in str(error.value)


def test_files_that_cannot_be_scripts_are_refused(tmp_path: Path) -> None:
    (tmp_path / "big.yaml").write_bytes(b"#" * (MAX_BYTES + 1))
    (tmp_path / "bytes.yaml").write_bytes(b"\xff")
    for name, says in (("big.yaml", "larger than"), ("bytes.yaml", "no UTF-8 text"), ("none.yaml", "cannot read")):
        with pytest.raises(VisitError, match=says):
            load_script(tmp_path / name)
    with pytest.raises(VisitError, match="cannot read"):
        load_script(tmp_path)


def test_a_missing_profile_stops_the_beginning(tmp_path: Path) -> None:
    with pytest.raises(VisitError, match="cannot read the profile"):
        load_script(script(tmp_path, GOOD + "profiles: [nowhere]")).begin("d")
