"""Files for people: nothing is overwritten unasked, and an open visit not at all."""

import stat
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Reply
from diagnose.store.atomic import give_file, require_free
from diagnose.store.journal import Journal, read

BEGIN = Begin(Setup(), "stuck_open")


def test_what_is_there_stays_until_it_is_to_be_replaced(tmp_path: Path) -> None:
    path = tmp_path / "x.html"
    give_file(path, b"one", "-o FILE")
    give_file(path, b"one", "-o FILE")
    says = r"is there already and was left as it is; .* -o FILE, or .* --force"
    with pytest.raises(VisitError, match=says):
        give_file(path, b"two", "-o FILE")
    with pytest.raises(VisitError, match=says):
        require_free(path, "-o FILE", False)
    assert path.read_bytes() == b"one"
    require_free(path, "-o FILE", True)
    give_file(path, b"two", "-o FILE", force=True)
    assert path.read_bytes() == b"two"
    assert [p.name for p in tmp_path.iterdir()] == ["x.html"]
    assert stat.S_IMODE(path.stat().st_mode) & 0o400


def visit(folder: Path, day: int) -> Journal:
    made = Journal.create(folder, datetime(2026, 3, day))
    made.append(BEGIN)
    made.append(Reply("power_lamp", "steady", note=f"day {day}"))
    return made


def test_a_hand_over_never_takes_the_place_of_another_visit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It replaced one without asking, even while that was open: its next answers went into a file without a name."""
    with visit(tmp_path, 1) as other, visit(tmp_path, 2) as mine:
        before = other.path.read_bytes()
        line = ["handover", mine.path.stem, "-o", str(other.path), "--visits", str(tmp_path)]
        assert main(line) == 2
        assert "is open in another window" in capsys.readouterr().err
        assert main([*line, "--force"]) == 2
        assert "is open in another window" in capsys.readouterr().err
        other.append(Reply("gate_made_safe", "safe"))
        assert other.path.read_bytes().startswith(before)
    assert main(line) == 2
    assert "is there already" in capsys.readouterr().err
    assert len(read(other.path).events) == 3
    assert main([*line, "--force"]) == 0
    assert str(other.path) in capsys.readouterr().out.replace("\n", "").replace(" ", "")
    assert other.path.read_bytes() == mine.path.read_bytes()


WRITING: dict[str, Callable[[Path], list[str]]] = {
    "offline": lambda p: ["offline", "-o", str(p), "--sensors", "laser"],
    "profile": lambda p: ["profile", "site", "-o", str(p)],
    "simulate": lambda p: ["simulate", "--cases", "1", "--html", str(p)],
    "languages": lambda p: ["languages", "--template", str(p)],
}


@pytest.mark.parametrize("command", WRITING.values(), ids=WRITING.keys())
def test_every_command_leaves_what_is_there(
    command: Callable[[Path], list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine"
    path.write_text("mine")
    assert main(command(path)) == 2
    assert "is there already and was left as it is" in capsys.readouterr().err
    assert path.read_text() == "mine"
