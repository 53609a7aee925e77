"""The pages served on loopback, on a free port, from a folder of the test's own."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import uvicorn

from diagnose.practice.lessons import practice_reasoner
from diagnose.session.session import conclude, salvage
from diagnose.session.state import Session
from diagnose.store.journal import read
from diagnose.store.profiles import offered
from diagnose.web.app import build
from diagnose.web.context import Places, context_of
from diagnose.web.exercises import Draw, ExerciseFolder
from diagnose.web.keeper import Doorkeeper
from tests.shipped import knowledge, reasoner

READY_WITHIN_S = 20.0


@dataclass(frozen=True, slots=True)
class Site:
    """Where the pages are, and the folder of visits behind them."""

    address: str
    visits: Path

    def session(self, name: str) -> Session:
        """A visit as it stands on disk."""
        return salvage(knowledge(), read(self.visits / f"{name}.visit").events)[0]

    def leader(self, name: str) -> str:
        """The cause that leads on disk, in words."""
        cause, _ = conclude(reasoner(), self.session(name)).belief.ranked()[0]
        return knowledge().causes[cause].says


@contextmanager
def served(folder: Path, password: str = "", draw: Draw | None = None) -> Iterator[Site]:
    """Everything that is kept is kept below `folder`; `draw` gives the gate of every exercise."""
    visits = folder / "visits"
    visits.mkdir(parents=True, exist_ok=True)
    places = Places(visits, folder / "practice", f"sqlite:///{folder / 'history.sqlite'}")
    context = context_of(reasoner(), Doorkeeper(password), places, offered([]))
    if draw:
        context = replace(context, exercises=ExerciseFolder(practice_reasoner(knowledge()), places.practice, draw))
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        server = uvicorn.Server(uvicorn.Config(build(context, local=True), log_level="warning"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
        thread.start()
        until = time.monotonic() + READY_WITHIN_S
        while not server.started:
            assert time.monotonic() < until, "the server did not start"
            time.sleep(0.02)
        try:
            yield Site(f"http://127.0.0.1:{door.getsockname()[1]}", visits)
        finally:
            server.should_exit = True
            thread.join(READY_WITHIN_S)
