"""On a real pseudo-terminal: the comfortable prompt, small screens, and kill -9 at any moment."""

import os
import random
import re
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pexpect  # type: ignore[import-untyped]
import pyte
import pytest

from diagnose.session.events import Reply
from diagnose.store.journal import read
from tests.shipped import knowledge

KILLS = 9  # in each of three visits
ENDS_WITHIN = 60.0  # seconds; a program that waits for a key nobody presses must fail, not hang


class Terminal:
    """The program on a pty, with what a person would see."""

    def __init__(self, folder: Path, *arguments: str, rows: int = 24, columns: int = 80, **more: str) -> None:
        drop = ("NO_COLOR", "ACCESSIBLE", "COLUMNS", "LINES")
        environment = {k: v for k, v in os.environ.items() if k not in drop}
        environment |= {"XDG_DATA_HOME": str(folder), "TERM": "xterm-256color", "OPENBLAS_NUM_THREADS": "1", **more}
        self.screen = pyte.HistoryScreen(columns, rows, history=5000)
        self._stream = pyte.ByteStream(self.screen)
        self.raw = b""
        command = [sys.executable, ["-m", "diagnose", *arguments]]
        self.child = pexpect.spawn(*command, env=environment, dimensions=(rows, columns), timeout=20)
        self.child.delaybeforesend = None

    def visible(self) -> str:
        return "\n".join(line.rstrip() for line in self.screen.display).rstrip()

    def everything(self) -> str:
        """What scrolled away, then what is visible."""
        rows = [*self.screen.history.top]
        old = ["".join(row[c].data for c in range(self.screen.columns)).rstrip() for row in rows]
        return "\n".join([*old, self.visible()])

    def until(self, wanted: str, seconds: float = 20) -> str:
        """Read until the pattern is visible at the bottom, or everywhere for the end."""
        give_up = time.monotonic() + seconds
        while not re.search(wanted, self.visible()):
            assert time.monotonic() < give_up, f"{wanted!r} never came:\n{self.visible()}"
            self._take()
        return self.visible()

    def _take(self) -> bool:
        """Take in what was written since; False once nothing more can come."""
        try:
            part = self.child.read_nonblocking(65536, timeout=0.2)
        except pexpect.TIMEOUT:
            return True
        except pexpect.EOF:
            time.sleep(0.05)
            return False
        self.raw += part
        self._stream.feed(part)
        return True

    def type(self, text: str) -> None:
        self.child.send(text)

    def answer(self, text: str, wanted: str) -> str:
        self.type(text + "\r")
        return self.until(wanted)

    def ended(self, press: str = "") -> int:
        """The exit code once the program has ended by itself; `press` is typed again and again until then."""
        give_up = time.monotonic() + ENDS_WITHIN
        while self.child.isalive():
            assert time.monotonic() < give_up, self.everything()[-2000:]
            if press:
                self.type(press)
            self._take()
        while self._take():
            assert time.monotonic() < give_up
        self.child.wait() if self.child.isalive() else self.child.close()
        return int(self.child.exitstatus or 0)

    def kill(self) -> None:
        os.kill(self.child.pid, signal.SIGKILL)
        self.child.close(force=True)


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A data folder that has been used before, so that no tour is offered."""
    (tmp_path / "gate-diagnose" / "visits").mkdir(parents=True)
    yield tmp_path


def the_visit(folder: Path) -> Path:
    (path,) = folder.rglob("*.visit")
    return path


LOOK_ROUND = r"'one'\s+asks\s(.|\n)*\n>$"
BEGUN = r"own(\n| )words\.\n>$"
VISIT = ("--technician", "--sensors", "laser")


@pytest.mark.parametrize(("rows", "columns"), [(24, 80), (16, 40)])
def test_a_whole_visit_on_a_real_terminal(folder: Path, rows: int, columns: int) -> None:
    terminal = Terminal(folder, *VISIT, rows=rows, columns=columns)
    terminal.until(BEGUN)
    terminal.answer("ghost_opening", r"1\. Has any(.|\n)*\n>$")
    for number in range(1, len(knowledge().settings.opening)):
        terminal.answer("1", rf"\n{number + 1}\. (.|\n)*\n>$" if rows > 20 else r"\n +1  (.|\n)*\n>$")
    terminal.answer("1", r"\n>$")
    terminal.answer("conclude", r"Enter stops here\.(.|\n)*\n>$")
    terminal.type("\r")
    assert terminal.ended() == 0
    text = terminal.everything()
    assert "Conclusion" in text
    assert "You asked to conclude." in " ".join(text.split())
    assert f"Visit: {the_visit(folder).stem}" in text
    replies = [e for e in read(the_visit(folder)).events if isinstance(e, Reply)]
    assert [r.check for r in replies[: len(knowledge().settings.opening)]] == list(knowledge().settings.opening)
    assert b"\x1b[6n" not in terminal.raw  # a slow link would answer the cursor question too late


def test_a_question_and_its_answers_are_visible_together_on_a_small_screen(folder: Path) -> None:
    terminal = Terminal(folder, *VISIT, rows=16, columns=40)
    terminal.until(BEGUN)
    seen = terminal.answer("ghost_opening", r"1\. Has any(.|\n)*yes, somebody(.|\n)*\n>$")
    assert "nobody and nothing" in seen
    terminal.kill()


def test_a_question_that_scrolled_away_comes_again_above_the_prompt(folder: Path) -> None:
    terminal = Terminal(folder, *VISIT, rows=16, columns=40)
    terminal.until(BEGUN)
    terminal.answer("ghost_opening", r"1\. Has any(.|\n)*yes, somebody(.|\n)*\n>$")
    terminal.answer("help", r"what else you can type\)\n\n1\. Has any(.|\n)*\(Enter shows the answers again\)\n>$")
    terminal.answer("", r"1\. Has any(.|\n)*smoke, or a smell of burning\n>$")
    when = list(knowledge().settings.opening).index("when_it_happens")
    for _ in range(when - 1):
        terminal.answer("1", r"   = (.|\n)*\n +1  (.|\n)*\n>$")
    terminal.answer("1", rf"{when + 1}\. When does the trouble show\?\n>$")
    terminal.kill()


def test_tab_completes_and_lists_and_a_half_typed_answer_is_marked(folder: Path) -> None:
    terminal = Terminal(folder, *VISIT)
    terminal.until(BEGUN)
    terminal.type("ghost\t")
    terminal.until(r"> ghost_opening$")
    terminal.answer("", r"1\. Has any(.|\n)*\n>$")
    terminal.type("n")
    terminal.until(r"> n +no answer yet$")
    terminal.type("\t\t")
    assert "nobody" in terminal.until(r"nearly")
    terminal.type("obody")
    seen = terminal.until(r"> nobody$")
    assert "no answer yet" not in seen.splitlines()[-1]
    terminal.answer("", r"2\. (.|\n)*\n>$")
    terminal.answer("zebra", r"Not understood: (.|\n)*\n>$")
    assert [e for e in read(the_visit(folder)).events if isinstance(e, Reply)] == [Reply("anyone_touched", "nobody")]
    terminal.kill()


def test_control_c_twice_leaves_with_the_answer_saved_and_resume_goes_on(folder: Path) -> None:
    terminal = Terminal(folder, *VISIT)
    terminal.until(BEGUN)
    terminal.answer("ghost_opening", r"1\. Has any(.|\n)*\n>$")
    terminal.answer("1", r"2\. (.|\n)*\n>$")
    terminal.type("half an ans\x03")
    terminal.until(r"line dropped; Ctrl-C again to leave\)\n>$")
    terminal.type("\x03")
    assert terminal.ended() == 0
    assert "Saved. 'diagnose resume' goes on here." in terminal.everything()
    again = Terminal(folder, "resume")
    assert "nobody and nothing" in " ".join(again.until(r"2\. (.|\n)*\n>$").split())
    again.type("\x04")
    assert again.ended() == 0


def test_a_dumb_terminal_gets_plain_lines(folder: Path) -> None:
    terminal = Terminal(folder, *VISIT, TERM="dumb")
    terminal.until(BEGUN)
    terminal.answer("ghost_opening", r"1\. Has any(.|\n)*\n>$")
    terminal.answer("leave", r"Visit: ")
    assert terminal.ended() == 0
    assert b"\x1b" not in terminal.raw


def test_the_first_time_a_tour_is_offered_and_may_be_watched_or_left(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path)
    terminal.until(r"Watch an invented visit first\? \(yes/no\)\n>$")
    terminal.type("yes\r")
    assert terminal.ended(press="\r") == 0
    assert b"(An invented site, device and visit.)" in terminal.raw
    assert b"End of the invented visit." in terminal.raw
    assert list(tmp_path.rglob("*.visit")) == []
    again = Terminal(tmp_path)
    again.until(r"Where are you\?(.|\n)*\n>$")
    again.answer("leave", r"nothing was saved")
    assert again.ended() == 2


def test_what_is_said_instead_of_yes_or_no_the_first_time_is_the_complaint(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path)
    terminal.until(r"first\? \(yes/no\)\n>$")
    terminal.type("it opens when nobody is there\r")
    terminal.until(r"Where are you\?(.|\n)*\n>$")
    terminal.answer("1", r"Which sensors(.|\n)*\n>$")
    terminal.answer("", r"What is wrong\?\nWhich of these fits best(.|\n)*Opens with nothing(.|\n)*\n>$")
    terminal.answer("leave", r"nothing was saved")
    assert terminal.ended() == 2


def asked(terminal: Terminal, number: int) -> None:
    """Wait for that question; a look round is asked one by one."""
    alone = rf"\n{number}\. (.|\n)*\n>$"
    seen = terminal.until(rf"{alone}|{LOOK_ROUND}")
    if not re.search(alone, seen):
        terminal.answer("one", alone)


@pytest.mark.parametrize("seed", range(3))
def test_kill_9_at_random_instants_loses_no_answer_whose_next_question_was_shown(folder: Path, seed: int) -> None:
    """One visit, killed again and again a random time after an answer was sent, then resumed."""
    chance, safe = random.Random(seed), 0
    terminal = Terminal(folder, *VISIT)
    terminal.until(BEGUN)
    terminal.answer("ghost_opening", r"1\. Has any(.|\n)*\n>$")
    for _ in range(KILLS):
        terminal.type("?\r")
        if chance.random() < 0.5:
            asked(terminal, safe + 2)
            safe += 1
        else:
            time.sleep(chance.uniform(0, 0.12))
        terminal.kill()
        found = read(the_visit(folder))
        assert found.damage == "" or "half written" in found.damage
        replies = [e for e in found.events if isinstance(e, Reply)]
        assert safe <= len(replies) <= safe + 1
        safe = len(replies)
        terminal = Terminal(folder, "resume")
        asked(terminal, safe + 1)
    terminal.kill()
