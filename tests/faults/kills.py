"""A visit in a process of its own, driven one line at a time and killed; and what must be on disk afterwards.

A front end joins by a class with the methods of `Program`.
"""

import os
import random
import re
import select
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Protocol

from diagnose.model.visit import Setup
from diagnose.session.events import Back, Begin, Conclude, Event, Reply
from diagnose.session.parse import options_of, parse_answer
from diagnose.session.session import conclude, replay
from diagnose.session.state import Session
from diagnose.store import visits
from diagnose.store.journal import read
from diagnose.store.recover import Recovered
from tests.shipped import knowledge, reasoner

OPENING = ("--technician", "--sensors", "laser", "--name", "north gate")
COMPLAINT = "ghost_opening"
PATIENCE_S = 60.0


class Program(Protocol):
    """A front end that keeps visits in `folder`. `output` is all it said since it was started.

    `writes_on_opening`: a visit that was killed between its last answer and the note that it is concluded gets
    that note when it is opened again. A page that is only looked at writes nothing.
    """

    output: str
    writes_on_opening: bool

    def start(self, folder: Path, resume: bool) -> None: ...
    def send(self, line: str) -> None: ...
    def acknowledged(self) -> bool:
        """Wait until the next question is shown; False when the program ended instead."""

    def kill(self) -> None: ...


def command(folder: Path, resume: bool) -> list[str]:
    return [sys.executable, "-m", "diagnose", *(["resume"] if resume else OPENING), "--visits", str(folder)]


IN_ONE_GO = re.compile(r"'one'\s+asks\s+one\s+at\s+a\s+time[^>]*\n> ?$")  # this person answers one check at a time


class Piped:
    """The program without a terminal: lines in, text out."""

    writes_on_opening = True

    def __init__(self) -> None:
        self.output = ""
        self._since = 0

    def start(self, folder: Path, resume: bool) -> None:
        pipe = subprocess.PIPE
        self.output, self._since = "", 0
        self._process = subprocess.Popen(command(folder, resume), stdin=pipe, stdout=pipe, stderr=subprocess.STDOUT)

    def send(self, line: str) -> None:
        assert self._process.stdin
        self._since = len(self.output)
        self._process.stdin.write(line.encode() + b"\n")
        self._process.stdin.flush()

    def acknowledged(self) -> bool:
        while not self.output[self._since :].endswith("\n> "):
            if not self._take(PATIENCE_S):
                return False
        if IN_ONE_GO.search(self.output[self._since :]):
            self.send("one")
            return self.acknowledged()
        return True

    def _take(self, seconds: float) -> bool:
        assert self._process.stdout
        ready, _, _ = select.select([self._process.stdout], [], [], seconds)
        part = os.read(self._process.stdout.fileno(), 1 << 16) if ready else b""
        self.output += part.decode(errors="replace")
        assert ready or not seconds, f"no answer came:\n{self.output[-1500:]}"
        return bool(part)

    def kill(self) -> None:
        self._process.send_signal(signal.SIGKILL)
        self._process.wait()
        while self._take(0):
            pass
        for stream in (self._process.stdin, self._process.stdout):
            assert stream
            stream.close()


class OnTerminal:
    """The program on a pseudo-terminal, with the comfortable prompt."""

    writes_on_opening = True

    def __init__(self) -> None:
        self.output = ""

    def start(self, folder: Path, resume: bool) -> None:
        import pexpect  # type: ignore[import-untyped]
        import pyte

        environment = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "ACCESSIBLE", "COLUMNS", "LINES")}
        self._screen = pyte.Screen(100, 60)
        self._stream = pyte.ByteStream(self._screen)
        first, *rest = command(folder, resume)
        shape = {"dimensions": (60, 100), "timeout": PATIENCE_S}
        self._child = pexpect.spawn(first, rest, env={**environment, "TERM": "xterm-256color"}, **shape)
        self._child.delaybeforesend = None
        self.output = ""

    def send(self, line: str) -> None:
        self._child.send(line)
        while not self._visible().endswith(f"> {line}"):  # until it is echoed; the prompt is then no longer bare
            if not self._take():
                return
        self._child.send("\r")

    def acknowledged(self) -> bool:
        give_up = time.monotonic() + PATIENCE_S
        while not re.search(r"(^|\n)>$", self._visible()):
            assert time.monotonic() < give_up, self._visible()
            if not self._take():
                return False
        if IN_ONE_GO.search(self._visible()):
            self.send("one")
            return self.acknowledged()
        return True

    def _visible(self) -> str:
        return (
            "\n".join(line.rstrip() for line in self._screen.display).rstrip().removesuffix("no answer yet").rstrip()
        )

    def _take(self) -> bool:
        import pexpect

        try:
            part = self._child.read_nonblocking(1 << 16, timeout=0.05)
        except pexpect.TIMEOUT:
            return True
        except pexpect.EOF:
            return False
        self.output += part.decode(errors="replace")
        self._stream.feed(part)
        return True

    def kill(self) -> None:
        os.kill(self._child.pid, signal.SIGKILL)
        while self._take() and self._child.isalive():
            pass
        self._child.close(force=True)


BEGIN = Begin(Setup(devices=("laser",)), COMPLAINT, site="north gate")


@dataclass
class Killed:
    """One after another: a few answers that are acknowledged, one that may not be, a kill, a look at the disk.

    `sure` was acknowledged; `open` was under way, in the order in which it would be saved; `whole` are the other
    files of the folder, which must stay as they are.
    """

    program: Program
    folder: Path
    chance: random.Random
    kills: int = 0
    answers: int = 0
    acknowledged: int = 0
    sure: list[Event] = field(default_factory=list)
    open: list[Event] = field(default_factory=list)
    whole: dict[Path, bytes] = field(default_factory=dict)

    def one_more(self) -> None:
        """Start or go on, give up to three answers, and kill at a random instant."""
        over = bool(self.sure) and self._over()
        resume = bool(self.sure) and not over
        if not resume:
            self.whole = {p: p.read_bytes() for p in self.folder.glob("*.visit")}
            self.sure = []
        if resume and self.program.writes_on_opening and _concludes(self._session()):
            self.open = [Conclude()]  # the kill came between the last answer and this
        self.program.start(self.folder, resume)
        if self.chance.random() < 0.85:  # else it is killed while it starts
            self._converse(resume)
        time.sleep(self.chance.choice((0.0, self.chance.expovariate(100.0), self.chance.uniform(0.0, 0.5))))
        self.program.kill()
        self.kills += 1
        self._judge()

    def _converse(self, resume: bool) -> None:
        self._wait()
        if not resume:
            self._send(COMPLAINT, BEGIN)
        for _ in range(self.chance.randrange(4)):
            self._wait()
            if self._over():
                return
            self._send(*self._line())
        if self.chance.random() < 0.5:
            self._wait()  # nothing is under way when the kill comes

    def _wait(self) -> None:
        assert self.program.acknowledged(), f"it ended:\n{self.program.output[-2000:]}"
        self.acknowledged += len(self.open)
        self.sure, self.open = [*self.sure, *self.open], []

    def _send(self, line: str, event: Event) -> None:
        self.open = [event]
        if _concludes(replay(knowledge(), [*self.sure, event])):
            self.open.append(Conclude())  # which the program saves by itself
        self.program.send(line)
        self.answers += 1

    def _session(self) -> Session:
        return replay(knowledge(), self.sure)

    def _over(self) -> bool:
        if not self.sure or (session := self._session()).concluded:
            return True
        return not self.program.writes_on_opening and _concludes(session)

    def _line(self) -> tuple[str, Event]:
        """What somebody types now, and the event it becomes."""
        session = self._session()
        if session.answers and self.chance.random() < 0.15:
            return "back", Back()
        check = knowledge().checks[conclude(reasoner(), session).next.check or ""]
        lines = ["?", "cannot", "skip", *options_of(check)]
        if check.kind == "quantity" and check.plausible:
            lines += [f"{check.plausible[0]:g} {check.unit}"] * 5
        line = self.chance.choice(lines)
        parsed = parse_answer(check, line)
        return line, Reply(check.id, parsed.value, parsed.sure)

    def _judge(self) -> None:
        """Nothing acknowledged is lost, nothing was made up, no other file changed, nothing went wrong aloud."""
        assert "Traceback" not in self.program.output, self.program.output[-3000:]
        assert all(path.read_bytes() == data for path, data in self.whole.items())
        new = [p for p in self.folder.glob("*.visit") if p not in self.whole]
        assert len(new) <= 1
        path = new[0] if new else None
        found = read(path) if path else Recovered((), (), "")
        assert not found.damage or "half written" in found.damage, found.damage
        saved = [replace(e, digest="", id="") if isinstance(e, Begin) else e for e in found.events]
        possible = [*self.sure, *self.open]
        assert len(self.sure) <= len(saved) <= len(possible), (saved, self.sure, self.open)
        assert saved == possible[: len(saved)]
        self.sure, self.open = saved, []
        if saved:
            assert visits.find(self.folder, "last") == path


def _concludes(session: Session) -> bool:
    return not session.concluded and not conclude(reasoner(), session).next.check
