"""What the server makes of a request on its way: whom it is from, whether it was encrypted, where it ends."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from diagnose.cli.serve import run as serve
from diagnose.errors import DiagnoseError
from diagnose.web.app import build
from diagnose.web.keeper import Doorkeeper
from diagnose.web.lines import Connections
from diagnose.web.server import Address, config_of
from tests.web.crowd import served
from tests.web.tab import Tab, context
from tests.web.test_serve import options

HERE = Address("127.0.0.1", 0, local=False)
PASSWORD = "correct horse battery"


def asked(keeper: Doorkeeper, folder: Path, peer: str, proxies: tuple[str, ...] = ("192.0.2.1",)) -> TestClient:
    """A browser whose requests come from `peer`, by way of the real middleware."""
    config = config_of(build(context(folder, keeper), local=False), replace(HERE, proxies=proxies), Connections())
    config.load()
    return TestClient(config.loaded_app, base_url="http://desk.example", client=(peer, 999))


def tried(client: TestClient, password: str, forwarded: str) -> int:
    shown = Tab(client, "/login")
    form = shown.forms()[-1]
    said = client.post(
        form.action, data={**form.fields, "password": password}, headers={"X-Forwarded-For": forwarded}
    )
    return int(said.status_code)


def test_behind_a_trusted_proxy_each_has_the_own_address(tmp_path: Path) -> None:
    """Five wrong passwords locked out everybody behind it."""
    client = asked(Doorkeeper(PASSWORD), tmp_path, "192.0.2.1")
    assert [tried(client, "guess", "198.51.100.7") for _ in range(6)] == [401] * 5 + [429]
    assert tried(client, PASSWORD, "198.51.100.8") == 200


@pytest.mark.parametrize(("peer", "proxies"), [("192.0.2.99", ("192.0.2.1",)), ("192.0.2.1", ())])
def test_nobody_else_is_believed(tmp_path: Path, peer: str, proxies: tuple[str, ...]) -> None:
    client = asked(Doorkeeper(PASSWORD), tmp_path, peer, proxies)
    assert [tried(client, "guess", f"198.51.100.{n}") for n in range(6)] == [401] * 5 + [429]
    answer = client.get("/login", headers={"X-Forwarded-Proto": "https"})
    assert "strict-transport-security" not in answer.headers
    assert "Secure" not in answer.headers.get("set-cookie", "")


def test_what_a_client_says_before_the_proxy_counts_for_nothing(tmp_path: Path) -> None:
    client = asked(Doorkeeper(PASSWORD), tmp_path, "192.0.2.1")
    assert [tried(client, "guess", f"203.0.113.{n}, 198.51.100.7") for n in range(6)] == [401] * 5 + [429]


def test_over_an_encrypted_line_cookies_are_for_it_alone(tmp_path: Path) -> None:
    client = asked(Doorkeeper(PASSWORD), tmp_path, "192.0.2.1")
    answer = client.get("/login", headers={"X-Forwarded-Proto": "https"})
    assert "max-age=" in answer.headers["strict-transport-security"]
    assert "; Secure" in answer.headers["set-cookie"]


def test_only_the_names_that_others_know_are_answered_to(tmp_path: Path) -> None:
    for local in (True, False):
        client = TestClient(build(context(tmp_path), local, ["Desk.example"]), base_url="http://x")
        given = {host: client.get("/", headers={"Host": host}).status_code for host in NAMES}
        assert given == NAMES


NAMES = {
    "desk.example": 200,
    "DESK.example:8443": 200,
    "localhost:8000": 200,
    "evil.example": 421,
    "desk.example.evil": 421,
    "": 421,
}


@pytest.mark.parametrize("given", [{"trusted_proxy": ["192.0.2.1"]}, {"public_name": ["desk.example"]}])
def test_who_is_reached_through_a_proxy_asks_for_a_password(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, given: dict[str, list[str]]
) -> None:
    monkeypatch.delenv("DIAGNOSE_PASSWORD", raising=False)
    monkeypatch.setattr("uvicorn.Server.run", lambda *_: pytest.fail("it was served"))
    with pytest.raises(DiagnoseError, match="named users"):
        serve(options(tmp_path, **given))


def test_a_proxy_is_an_address(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DIAGNOSE_PASSWORD", PASSWORD)
    monkeypatch.setattr("uvicorn.Server.run", lambda *_: pytest.fail("it was served"))
    for wrong in ("desk.example", "*", "192.0.2.1/99"):
        with pytest.raises(DiagnoseError, match="--trusted-proxy"):
            serve(options(tmp_path, trusted_proxy=[wrong]))


@contextmanager
def line_to(folder: Path) -> Iterator[socket.socket]:
    with served(folder, Connections()) as port, socket.create_connection(("127.0.0.1", port), timeout=5) as line:
        yield line


@pytest.mark.parametrize(
    "framings",
    [
        b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n",
        b"Transfer-Encoding: chunked\r\nContent-Length: 5\r\n",
        b"Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n",
        b"Content-Length: 5\r\nContent-Length: 6\r\n",
    ],
)
def test_a_request_with_two_framings_gets_one_answer_and_the_line_ends(tmp_path: Path, framings: bytes) -> None:
    """It got two: what one server takes for the body another takes for the next request."""
    with line_to(tmp_path) as line:
        inside = b"GET /static/page.css HTTP/1.1\r\nHost: localhost\r\n\r\n"
        line.sendall(b"POST /login HTTP/1.1\r\nHost: localhost\r\n" + framings + b"\r\n0\r\n\r\n" + inside)
        said = b""
        while more := line.recv(65_536):
            said += more
        assert said.count(b"HTTP/1.1 ") == 1 and said.startswith((b"HTTP/1.1 400", b"HTTP/1.1 501"))
