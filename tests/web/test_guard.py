"""What keeps others out: hosts, forged forms, sizes, passwords, headers."""

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.exceptions import HTTPException
from starlette.testclient import TestClient

from diagnose.errors import VisitError
from diagnose.model.history import VisitRecord
from diagnose.store.users import KnownUsers
from diagnose.web import throttle
from diagnose.web.app import build
from diagnose.web.guard import MOST_FORM, MOST_UPLOAD, is_local
from diagnose.web.keeper import COOKIE, Doorkeeper, cookie
from diagnose.web.throttle import GUESSED, IN_S, TRIES
from tests.web.tab import HOME, Tab, client, context, tab

PASSWORD = "correct horse battery"


@pytest.mark.parametrize(
    ("host", "ours"),
    [
        ("localhost", True),
        ("localhost:8000", True),
        ("127.0.0.1:1", True),
        ("[::1]:8000", True),
        ("[::1]", True),
        ("", False),
        ("evil.example", False),
        ("localhost.evil.example:8000", False),
        ("127.0.0.1.evil.example", False),
        ("localhost:", False),
        ("localhost:x", False),
        ("0.0.0.0:8000", False),
    ],
)
def test_only_names_of_this_machine_are_answered(tmp_path: Path, host: str, ours: bool) -> None:
    assert is_local(host) is ours
    answer = client(tmp_path).get("/", headers={"Host": host})
    assert answer.status_code == (200 if ours else 421)


def test_a_form_without_the_token_of_its_session_is_refused(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    stranger = tab(tmp_path).open("/start")
    for token in ("", "0" * 64, "é", stranger.token):
        shown.send(form, answer=form.buttons[0][1], token=token)
        assert shown.status == 403 and "Nothing was saved" in shown.text
    fields = {k: v for k, v in form.fields.items() if k != "token"}
    assert shown.client.post(form.action, data=fields).status_code == 403
    del shown.client.cookies[COOKIE]
    assert shown.client.post(form.action, data=form.fields).status_code == 403
    assert len((tmp_path / f"{form.action.split('/')[2]}.visit").read_text().splitlines()) == 1


def test_every_address_that_takes_a_form_wants_the_token(tmp_path: Path) -> None:
    name = tab(tmp_path).begin().address.split("/")[2]
    from diagnose.web.app import SENT

    for path in SENT:
        assert client(tmp_path).post(path.replace("{name}", name), data={"do": "back"}).status_code == 403, path


def _chunks(size: int) -> Iterator[bytes]:
    for _ in range(size // 10_000 + 1):
        yield b"x" * 10_000


@pytest.mark.parametrize("path", ["/start", "/visit/x", "/login", "/takeover"])
def test_a_body_that_is_too_large_is_refused_whatever_length_it_tells(tmp_path: Path, path: str) -> None:
    most = MOST_UPLOAD if path == "/takeover" else MOST_FORM
    kind = {"Content-Type": "multipart/form-data; boundary=b" if path == "/takeover" else FORM}
    served = client(tmp_path)
    assert served.post(path, content=b"x" * (most + 1), headers=kind).status_code == 413
    assert served.post(path, content=_chunks(most), headers=kind).status_code == 413
    lying = {**kind, "Content-Length": "5"}
    assert served.post(path, content=_chunks(most), headers=lying).status_code == 413


FORM = "application/x-www-form-urlencoded"


def test_headers_and_cookie(tmp_path: Path) -> None:
    for path, status in (("/", 200), ("/nowhere", 404), ("/static/page.css", 200), ("/visit/none", 404)):
        answer = client(tmp_path).get(path)
        assert answer.status_code == status
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy
        assert answer.headers["x-frame-options"] == "DENY"
        assert answer.headers["x-content-type-options"] == "nosniff"
    given = client(tmp_path).get("/").headers["set-cookie"]
    assert "HttpOnly" in given and "SameSite=Strict" in given and "Secure" not in given
    assert "; Secure" in cookie("x", secure=True)


def test_a_mistake_of_the_program_is_said_without_its_inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    served = TestClient(build(context(tmp_path), local=True), base_url=HOME, raise_server_exceptions=False)

    def broken(*_: object) -> None:
        raise ZeroDivisionError("secret inside")

    shown = Tab(served).begin()
    monkeypatch.setattr("diagnose.web.visits.conclude", broken)
    answer = served.get(shown.address)
    assert answer.status_code == 500 and "is safe" in answer.text and "secret" not in answer.text
    assert answer.headers["x-frame-options"] == "DENY"


def named(folder: Path, clock: Callable[[], float]) -> Doorkeeper:
    """Ann alone, whose password needs no hashing here."""
    path = folder / "users.json"
    path.write_text('{"format": 1, "users": [{"name": "Ann", "role": "technician", "password": "none"}]}', "utf-8")
    return Doorkeeper(users=KnownUsers(path), clock=clock)


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_with_a_password_nothing_is_shown_without_it(tmp_path: Path) -> None:
    keeper = Doorkeeper(PASSWORD)
    shown = Tab(TestClient(build(context(tmp_path, keeper), local=False), base_url="http://192.0.2.7:8000"))
    for path in ("/", "/start", "/visit/x", "/takeover", "/history", "/practice"):
        assert shown.open(path).address == "/login"
    assert shown.client.post("/start", data={}, follow_redirects=False).headers["location"] == "/login"
    assert shown.client.get("/static/page.css").status_code == 200
    before = shown.client.cookies[COOKIE]
    shown.open("/login").send(shown.forms()[-1], password="wrong horse battery")
    assert shown.status == 401
    shown.send(shown.forms()[-1], password=PASSWORD)
    assert shown.status == 200 and shown.address == "/" and shown.client.cookies[COOKIE] != before
    shown.begin()
    assert shown.address.startswith("/visit/")
    shown.send(next(f for f in shown.forms() if f.action == "/logout"))
    assert shown.open("/").address == "/login"


def test_a_session_that_a_stranger_made_up_or_brought_along_is_no_login(tmp_path: Path) -> None:
    served = TestClient(build(context(tmp_path, Doorkeeper(PASSWORD)), local=False), base_url="http://192.0.2.7")
    served.cookies.set(COOKIE, "chosen-by-a-stranger")
    shown = Tab(served, "/login")
    shown.send(shown.forms()[-1], password=PASSWORD)
    other = TestClient(build(context(tmp_path, Doorkeeper(PASSWORD)), local=False), base_url="http://192.0.2.7")
    other.cookies.set(COOKIE, "chosen-by-a-stranger")
    assert Tab(other, "/").address == "/login"


def test_guessing_is_slowed_down_and_logins_end() -> None:
    clock = Clock()
    keeper = Doorkeeper(PASSWORD, clock=clock)
    assert all(keeper.login("192.0.2.1", f"guess {n}") == "" for n in range(TRIES))
    with pytest.raises(HTTPException) as refused:
        keeper.login("192.0.2.1", PASSWORD)  # not even the right one now
    assert refused.value.status_code == 429
    assert keeper.login("192.0.2.2", PASSWORD)  # others are not shut out
    clock.now += IN_S + 1
    session = keeper.login("192.0.2.1", PASSWORD)
    assert keeper.knows(session) and not keeper.knows("made up") and not keeper.knows("")
    clock.now += 13 * 3600
    assert not keeper.knows(session)


@pytest.mark.parametrize("name", ["", "Ann"])
def test_guessing_from_ever_new_addresses_locks_nobody_else_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """One wrong password each from 1,001 addresses locked out every login."""
    monkeypatch.setattr(Doorkeeper, "_proved", lambda _self, _key, given: "proof" if given == PASSWORD else "")
    keeper = named(tmp_path, Clock()) if name else Doorkeeper(PASSWORD, clock=Clock())
    for number in range(1100):
        assert not keeper.login(f"198.51.{number // 250}.{number % 250}", "guess", name)
    assert keeper.login("192.0.2.9", PASSWORD, name)


def test_a_name_that_is_guessed_from_everywhere_leaves_each_address_one_try(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Doorkeeper, "_proved", lambda _self, _key, given: "proof" if given == PASSWORD else "")
    clock = Clock()
    keeper = named(tmp_path, clock)
    for number in range(GUESSED):
        assert not keeper.login(f"198.51.100.{number}", "guess", "Ann")
    assert not keeper.login("192.0.2.9", "guess", "Ann")
    with pytest.raises(HTTPException):
        keeper.login("192.0.2.9", PASSWORD, "ANN")
    assert keeper.login("192.0.2.10", PASSWORD, "Ann")
    clock.now += IN_S + 1
    assert keeper.login("192.0.2.9", PASSWORD, "Ann")


def test_who_knows_one_password_may_not_guess_another_for_longer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Doorkeeper, "_proved", lambda _self, key, _given: "proof" if key == "ann" else "")
    keeper = named(tmp_path, Clock())
    for _ in range(TRIES):
        assert not keeper.login("192.0.2.9", "guess", "Ben")
        with contextlib.suppress(HTTPException):
            keeper.login("192.0.2.9", PASSWORD, "Ann")
    with pytest.raises(HTTPException):
        keeper.login("192.0.2.9", "guess", "Ben")


def test_what_is_kept_of_tries_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(throttle, "MOST_KEPT", 50)
    kept = throttle.Throttle(Clock())
    for number in range(500):
        assert kept.may_try(f"2001:db8:{number:x}::/64", f"name {number}")
    assert len(kept._of) == len(kept._for) == 50


def test_whoever_watches_the_server_is_told_by_any_name_and_without_a_session(tmp_path: Path) -> None:
    watching = client(tmp_path, keeper=Doorkeeper(PASSWORD))
    answer = watching.get("/healthz", headers={"Host": "watch.example"})
    assert (answer.status_code, answer.json()) == (200, {"ok": True, "visits": True, "history": True})
    assert "set-cookie" not in answer.headers
    assert watching.post("/healthz", headers={"Host": "watch.example"}).status_code != 200


def test_a_history_that_cannot_be_used_is_503_and_tells_nothing_of_it(tmp_path: Path) -> None:
    def down(*_: object) -> tuple[VisitRecord, ...]:
        raise VisitError("postgresql://desk:secret@db is not there")

    watching = TestClient(build(replace(context(tmp_path), search=down), local=True), base_url=HOME)
    answer = watching.get("/healthz")
    assert (answer.status_code, answer.json()) == (503, {"ok": False, "visits": True, "history": False})
    assert "secret" not in answer.text
