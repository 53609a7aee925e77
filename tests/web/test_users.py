"""Named users on the pages: who comes in, what bears their name, what their role lets them do."""

import logging
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
from starlette.testclient import TestClient

from diagnose.cli.serve import run as serve
from diagnose.errors import DiagnoseError
from diagnose.session.events import Begin, Close, Noted, Proved, Repaired, Reply, TakeOver
from diagnose.store import passwords, users
from diagnose.store.users import KnownUsers
from diagnose.web.app import build
from diagnose.web.context import Ask
from diagnose.web.exercise_pages import may_see
from diagnose.web.keeper import Doorkeeper, LoggedIn
from diagnose.web.signing import signed
from tests.shipped import begun
from tests.web.tab import Form, Tab, context, events_in, session_in
from tests.web.test_serve import options

PEOPLE = {
    "Ann": "technician",
    "Ben": "technician",
    "Eve": "electrician",
    "Dee": "help_desk",
    "Max": "manager",
}


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Users whose hash is quickly made: how slowly is not tested here."""
    monkeypatch.setattr(passwords, "hashed", lambda password: f"hash of {password}")
    monkeypatch.setattr(passwords, "fits", lambda kept, password: kept == f"hash of {password}")
    for name, role in PEOPLE.items():
        users.add(tmp_path / "users.json", name, role, word(name))
    return tmp_path / "users.json"


def word(name: str) -> str:
    return f"four odd words for {name}"


def as_(name: str, file: Path, keeper: Doorkeeper | None = None) -> Tab:
    """A browser of this person, logged in. Each has a server of its own on the same folder, unless one is given."""
    keeper = keeper or Doorkeeper(users=KnownUsers(file))
    shown = Tab(
        TestClient(build(context(file.parent / "visits", keeper), local=False), base_url="http://desk.example")
    )
    shown.open("/login").send(shown.forms()[-1], name=name, password=word(name))
    return shown


def posted(shown: Tab, **fields: str) -> None:
    """A form that the page before does not offer."""
    shown.send(Form(shown.address, {"token": shown.token}), **fields)


def test_each_comes_in_with_the_own_name_and_password(file: Path) -> None:
    shown = as_(" ANN ", file)
    assert shown.status == 401  # the password is another's
    shown.send(shown.forms()[-1], name=" ANN ", password=word("Ann"))
    assert (shown.status, shown.address) == (200, "/") and "Log out Ann" in shown.text
    shown = as_("nobody", file)
    assert shown.status == 401 and 'value="nobody"' in shown.text


@pytest.mark.parametrize("what", ["removed", "new password"])
def test_who_is_removed_or_has_a_new_password_is_logged_out_at_once(file: Path, what: str) -> None:
    shown = as_("Ann", file)
    other = as_("Ben", file)
    if what == "removed":
        users.remove(file, "Ann")
    else:
        users.change(file, "ann", "quite another four words")
    assert shown.open("/").address == "/login"
    assert other.open("/").address == "/"


def test_a_users_file_that_cannot_be_read_lets_nobody_in(file: Path) -> None:
    keeper = Doorkeeper(users=KnownUsers(file))
    session = keeper.login("192.0.2.1", word("Ann"), "Ann")
    assert keeper.knows(session)
    file.write_text("{", "utf-8")
    with pytest.raises(DiagnoseError):
        keeper.knows(session)


def answers(shown: Tab) -> None:
    shown.singly()
    form = next(f for f in shown.forms() if f.buttons and f.fields.get("do") == "reply")
    shown.send(form, answer=form.buttons[0][1], by="Eve")


def test_what_somebody_does_bears_the_name_and_the_record_says_it(file: Path) -> None:
    folder, ann = file.parent / "visits", as_("Ann", file).begin()
    place = ann.address
    answers(ann)
    ben = as_("Ben", file).open(place)
    posted(ben, do="noted", n="2", text="the lid was loose", kind="remark", by="Eve")
    answers(ben)
    begin, first, note, second = events_in(folder, place)
    assert isinstance(begin, Begin) and begin.by == "Ann"
    assert isinstance(first, Reply) and first.by == "Ann"
    assert isinstance(note, Noted) and note.by == "Ben"
    assert isinstance(second, Reply) and second.by == "Ben"
    record = ben.client.get(f"{place}/record/full.html").text
    assert "Ann" in record and "Ben" in record and "Eve" not in record


def test_taking_over_is_in_the_own_name_and_in_a_role_one_has(file: Path) -> None:
    folder = file.parent / "visits"
    ann = as_("Ann", file).begin()
    place = ann.address.removesuffix("/heard")
    ben = as_("Ben", file).open(place)
    assert 'name="electrician"' not in ben.text
    ben.do("take_over", by="Eve", electrician="1")
    assert ben.status == 422 and len(events_in(folder, ann.address)) == 1
    as_("Eve", file).open(place).do("take_over", by="Ann", electrician="1")
    last = events_in(folder, ann.address)[-1]
    assert isinstance(last, TakeOver) and last.by == "Eve" and last.setup.electrician
    ben.open(place).singly()
    form = next(f for f in ben.forms() if f.fields.get("do") == "reply")
    ben.send(form, answer="dont_know")
    assert ben.status == 422 and "not for this role" in ben.text
    posted(ben.open(place), do="noted", n="2", text="seen", kind="remark")
    assert ben.status == 200 and len(events_in(folder, ann.address)) == 3  # a remark may everybody make


@pytest.mark.parametrize(("name", "role", "taken"), [("Ann", "electrician", False), ("Dee", "technician", False)])
def test_a_forged_form_gives_no_licence(file: Path, name: str, role: str, taken: bool) -> None:
    shown = as_(name, file)
    shown.begin(role=role)
    assert (shown.status == 200) is taken
    assert not list((file.parent / "visits").glob("*.visit"))


def test_the_callers_answers_stay_the_callers(file: Path) -> None:
    shown = as_("Dee", file).begin(role="help_desk")
    shown.open(shown.address.removesuffix("/heard")).singly()
    form = next(f for f in shown.forms() if f.fields.get("do") == "reply" and f.buttons)
    shown.send(form, answer=form.buttons[0][1])
    session = session_in(file.parent / "visits", shown.address)
    assert session.by == "Dee" and session.answers[0].by == "caller"


def test_a_repair_and_its_proof_bear_the_name() -> None:
    ben, session = LoggedIn("Ben", "technician"), begun()
    assert signed(Repaired("x"), ben, session) == Repaired("x", name="Ben")
    assert signed(Repaired("x", by="caller"), ben, session) == Repaired("x", by="caller")
    assert signed(Proved(True), ben, session) == Proved(True, by="Ben")
    told = signed(Repaired("x", by="technician", name="Ann"), ben, session)
    assert told == Repaired("x", by="technician", name="Ann (written down by Ben)")


def test_an_end_in_a_colleague_s_name_says_who_wrote_it() -> None:
    """A technician closed a visit in the name of an electrician who was not there."""
    ben = LoggedIn("Ben", "technician")
    ended = signed(Close("left_out", "r", by="Ann", meanwhile="m"), ben, begun())
    assert ended == Close("left_out", "r", by="Ann (written down by Ben)", meanwhile="m")
    assert signed(Close("left_out", "r", by="Ben"), ben, begun()) == Close("left_out", "r", by="Ben")


def test_another_s_marks_are_seen_by_whoever_trains_only() -> None:
    people = (("Ann", "technician"), ("Ben", "technician"), ("Dee", "help_desk"), ("Max", "manager"))
    asking = [cast(Ask, SimpleNamespace(person=LoggedIn(*person))) for person in people]
    assert [may_see(ask, "Ann") for ask in asking] == [True, False, False, True]


def test_logins_are_logged_without_password_and_without_what_is_no_name(
    file: Path, caplog: pytest.LogCaptureFixture
) -> None:
    keeper = Doorkeeper(users=KnownUsers(file))
    with caplog.at_level(logging.INFO, "diagnose.logins"):
        assert keeper.login("192.0.2.1", word("Ann"), "ann")
        assert not keeper.login("192.0.2.2", "a wrong one", "Ann")
        assert not keeper.login("192.0.2.3", "x", word("Ann"))  # typed in the wrong field
    lines = caplog.messages
    assert "Ann from 192.0.2.1" in lines[0] and "Ann from 192.0.2.2" in lines[1] and "192.0.2.3" in lines[2]
    assert not any("odd words" in line or "wrong one" in line for line in lines)


def test_a_name_that_is_not_known_takes_as_long(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    looked = list[str]()

    def fits(kept: str, _: str) -> bool:
        looked.append(kept)
        return True

    monkeypatch.setattr(passwords, "of_nobody", lambda: "nobody")
    monkeypatch.setattr(passwords, "fits", fits)
    assert not Doorkeeper(users=KnownUsers(file)).login("192.0.2.1", "guess", "no such name")
    assert looked == ["nobody"]


def test_users_or_one_password_but_not_both(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("uvicorn.Server.run", lambda *_: pytest.fail("it was served"))
    monkeypatch.setenv("DIAGNOSE_PASSWORD", "correct horse battery")
    with pytest.raises(DiagnoseError, match="only one of the two"):
        serve(options(file.parent, users=str(file)))
    monkeypatch.delenv("DIAGNOSE_PASSWORD")
    with pytest.raises(DiagnoseError, match="nobody is named"):
        serve(options(file.parent, users=str(file.with_name("none.json"))))


@pytest.mark.parametrize("weak", [" " * 10, "1234567890", "qwertyuiop", "aaaaaaaaaaaa", "password12"])
def test_a_weak_password_opens_no_network(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, weak: str) -> None:
    monkeypatch.setattr("uvicorn.Server.run", lambda *_: pytest.fail("it was served"))
    monkeypatch.setenv("DIAGNOSE_PASSWORD", weak)
    with pytest.raises(DiagnoseError, match="guessed soon"):
        serve(options(tmp_path, host="0.0.0.0", open_to_network=True))
