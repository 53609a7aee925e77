"""No page tells where things lie on the machine, whatever cannot be done there."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from diagnose.web.app import build
from diagnose.web.context import Places, context_of
from diagnose.web.hiding import hiding
from diagnose.web.keeper import Doorkeeper
from tests.shipped import quick
from tests.web.tab import HOME, Tab
from tests.web.test_attacks import handed_over, taken_over


@pytest.fixture
def shown(tmp_path: Path) -> Iterator[Tab]:
    """Pages that still open, of a server whose folders have become files."""
    places = Places(tmp_path / "in" / "visits", tmp_path / "in" / "practice", str(tmp_path / "in" / "history.db"))
    served = Tab(TestClient(build(context_of(quick(), Doorkeeper(), places, {}), local=True), base_url=HOME))
    (tmp_path / "in").write_text("no folder", "utf-8")
    yield served
    assert served.status in (200, 422), served.status
    assert str(tmp_path) not in served.text and tmp_path.name not in served.text
    assert 'class="wrong"' in served.text or served.status == 422 or "trouble" in served.text


def test_begin(shown: Tab) -> None:
    shown.begin()


def test_history(shown: Tab) -> None:
    shown.open("/history?q=lamp")


def test_practice(shown: Tab) -> None:
    form = next(f for f in shown.open("/practice").forms() if f.action == "/practice")
    shown.send(form, trainee="me", lesson="")


def test_take_over(shown: Tab, tmp_path: Path) -> None:
    taken_over(shown, handed_over(tmp_path / "from"))


def test_a_url_with_a_password_is_no_more_shown_than_a_folder() -> None:
    hidden = hiding([Path("/srv/desk"), Path("/srv/desk/visits"), Path("/")], "postgresql://desk:secret@db/desk")
    page = "cannot write /srv/desk/visits/a.visit in /srv/desk: postgresql://desk:secret@db/desk, &lt;/srv/desk/b&gt;"
    assert hidden(page) == "cannot write a.visit in desk: desk, &lt;b&gt;"
    assert hidden('<a href="/visit/x/answers">') == '<a href="/visit/x/answers">'
