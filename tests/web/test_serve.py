"""`diagnose serve`: who may come in, what is missing, how it starts and stops."""

import argparse
import builtins
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.serve import run as serve
from diagnose.errors import DiagnoseError, VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Reply
from diagnose.store.history.search import FolderSearch
from diagnose.store.journal import Journal
from diagnose.store.profiles import offered
from diagnose.web.context import Places, context_of
from diagnose.web.keeper import Doorkeeper
from tests.shipped import knowledge, reasoner


def options(folder: Path, **more: Any) -> argparse.Namespace:
    given: dict[str, Any] = {
        "host": "127.0.0.1",
        "port": 0,
        "open_to_network": False,
        "password_file": "",
        "users": "",
        "trusted_proxy": [],
        "public_name": [],
        "certificate": "",
        "key": "",
        "profile": [],
        "knowledge": "",
        "visits": str(folder),
        "database": str(folder / "history.db"),
        "practice": str(folder / "practice"),
    }
    return argparse.Namespace(**{**given, **more})


@pytest.fixture
def never_served(monkeypatch: pytest.MonkeyPatch) -> None:
    def served(*_: object, **__: object) -> None:
        raise AssertionError("it was served")

    monkeypatch.setattr("uvicorn.Server.run", served)
    monkeypatch.delenv("DIAGNOSE_PASSWORD", raising=False)


@pytest.mark.usefixtures("never_served")
def test_the_password_may_lie_in_a_file_that_a_variable_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "secret").write_text("short\n", "utf-8")
    monkeypatch.setenv("DIAGNOSE_PASSWORD_FILE", str(tmp_path / "secret"))
    with pytest.raises(DiagnoseError, match="10 to 200 characters"):
        serve(options(tmp_path, host="0.0.0.0", open_to_network=True))


@pytest.mark.usefixtures("never_served")
@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "gate.example"])
def test_a_network_is_refused_without_the_option_and_without_a_password(tmp_path: Path, host: str) -> None:
    with pytest.raises(VisitError, match="--open-to-network"):
        serve(options(tmp_path, host=host))
    with pytest.raises(VisitError, match="with a password"):
        serve(options(tmp_path, host=host, open_to_network=True))
    (tmp_path / "password").write_text("short\n")
    with pytest.raises(DiagnoseError, match="10 to 200"):
        serve(options(tmp_path, host=host, open_to_network=True, password_file=str(tmp_path / "password")))
    with pytest.raises(DiagnoseError, match="cannot read"):
        serve(options(tmp_path, host=host, open_to_network=True, password_file=str(tmp_path / "none")))


@pytest.mark.usefixtures("never_served")
def test_a_network_with_a_password_is_served_and_says_what_is_in_the_clear(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DIAGNOSE_PASSWORD", "long enough to hold")
    with pytest.raises(AssertionError, match="it was served"):
        serve(options(tmp_path, host="0.0.0.0", open_to_network=True))
    assert "WITHOUT encryption" in capsys.readouterr().out


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(VisitError, match="--port"):
        serve(options(tmp_path, port=taken.getsockname()[1]))
    with pytest.raises(VisitError, match="--port"):
        serve(options(tmp_path, port=70_000))


@pytest.mark.parametrize("missing", ["uvicorn", "starlette", "python_multipart"])
def test_missing_packages_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, missing: str) -> None:
    real = builtins.__import__

    def without(name: str, *more: Any, **named: Any) -> Any:
        if name.partition(".")[0] == missing:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return real(name, *more, **named)

    for module in [m for m in sys.modules if m.partition(".")[0] == missing or m.startswith("diagnose.web.")]:
        monkeypatch.delitem(sys.modules, module)
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(VisitError, match=r"gate-diagnose\[web\]"):
        serve(options(tmp_path))


def test_profiles_are_offered_by_kind_and_a_bad_one_is_said_at_once(tmp_path: Path) -> None:
    own = tmp_path / "own.yaml"
    own.write_text("profile: {id: my_gate, says: My gate, kind: site}\nfacts: {site.gate_type: swing}\n")
    found = offered([str(own)])
    assert found["site"]["my_gate"] == str(own) and "demo_device" in found["device"]
    with pytest.raises(VisitError):
        offered([str(tmp_path / "none.yaml")])


def test_history_takes_in_new_and_changed_visits_once(tmp_path: Path) -> None:
    search = FolderSearch(knowledge(), tmp_path, str(tmp_path / "history.db"))
    assert search("", "", "", 50) == ()
    begin = Begin(Setup(), "ghost_opening", "opens alone", "Yard 1", knowledge().digest, "id-1")
    with Journal.create(tmp_path, datetime(2026, 3, 1)) as journal:
        journal.append(begin)
        assert [r.site for r in search("alone", "", "", 50)] == ["Yard 1"]
        journal.append(Reply("anyone_touched", "nobody"))
    assert [len(r.answers) for r in search("", "yard", "", 50)] == [1]


def test_the_desk_has_everything(tmp_path: Path) -> None:
    context = context_of(reasoner(), Doorkeeper(""), Places(tmp_path, tmp_path / "practice"), {})
    assert (
        context.visits.folder == tmp_path and context.kb.digest == knowledge().digest and not context.keeper.password
    )


@pytest.mark.skipif(os.name != "posix", reason="signals")
def test_it_starts_answers_and_stops_on_ctrl_c(tmp_path: Path) -> None:
    code = (
        "import argparse, sys; from pathlib import Path; from diagnose.cli.serve import run as serve; "
        "from tests.web.test_serve import options; "
        f"sys.exit(serve(options(Path({str(tmp_path)!r}))))"
    )
    pipe = subprocess.PIPE
    running = subprocess.Popen([sys.executable, "-c", code], stdout=pipe, stderr=pipe, text=True)
    try:
        address = running.stdout.readline().split()[0]  # type: ignore[union-attr]
        assert address.startswith("http://127.0.0.1:") and b"Visits" in _page(address)
        running.send_signal(signal.SIGINT)
        said, wrong = running.communicate(timeout=20)
        assert running.returncode == 0 and "saved" in said and not wrong
    finally:
        running.kill()
        running.wait()


def _page(address: str) -> bytes:
    for _ in range(200):
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:
                return bytes(answer.read())
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the server did not answer")
