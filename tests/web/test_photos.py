"""Pictures in a browser: sent as a form like every other, on disk before the page, shown from one folder only."""

from collections.abc import Iterator
from html import unescape
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Conclude, Event, Pictured, Reply
from diagnose.session.photos import MOST
from diagnose.store.photos import MOST_BYTES, folder_of, kept
from diagnose.web.guard import MOST_PICTURE
from tests.store.pictured import GPS, SECRET, picture, png_of, with_place
from tests.web.tab import Form, Tab, client, events_in, tab
from tests.web.test_record_pages import kept as visit_of
from tests.web.test_visit import answered


def send(shown: Tab, data: bytes, form: Form | None = None, **fields: str) -> Tab:
    form = form or shown.form("pictured")
    answer = shown.client.post(form.action, data={**form.fields, **fields}, files={"picture": ("IMG_1.html", data)})
    shown.text, shown.status, shown.address = answer.text, answer.status_code, answer.url.path
    return shown


def told(folder: Path, address: str) -> list[Pictured]:
    return [event for event in events_in(folder, address) if isinstance(event, Pictured)]


def address_of(shown: Tab) -> str:
    """Of the first picture that the page shows."""
    return shown.text.split('<img src="')[1].split('"')[0]


def test_a_picture_of_the_last_answer_is_kept_small_without_its_place_and_shown(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    send(shown, with_place(), says="the lamp <b>")
    (event,) = told(tmp_path, shown.address)
    assert (event.of, event.says) == ("answer", "the lamp <b>")
    assert "the lamp &lt;b&gt;" in shown.text and shown.status == 200
    sent = shown.client.get(address_of(shown))
    assert sent.headers["content-type"] == "image/jpeg" and sent.headers["x-content-type-options"] == "nosniff"
    assert "sandbox" in sent.headers["content-security-policy"]
    assert not Image.open(BytesIO(sent.content)).getexif().get_ifd(GPS) and SECRET.encode() not in sent.content


def test_pictures_of_an_answer_a_remedy_a_proof_and_the_visit(tmp_path: Path) -> None:
    begin, answer = Begin(Setup(), "ghost_opening"), Reply("anyone_touched", "nobody")
    events: list[Event] = [begin, answer, Conclude()]
    shown = Tab(client(tmp_path), f"/visit/{visit_of(tmp_path, events)}")
    of = [form.fields["of"] for form in shown.forms() if form.fields.get("do") == "pictured"]
    assert of[0] == "remedy" and of[-1] == "visit"
    for form in [f for f in shown.forms() if f.fields.get("of") in ("remedy", "visit")][:2]:
        number = str(len(events_in(tmp_path, shown.address)))
        send(shown, picture(colour="red"), form, n=number)
        assert shown.status == 200
    cause = told(tmp_path, shown.address)[0].which
    shown.do("repaired", cause=cause)
    assert shown.form("pictured").fields["of"] == "proof"
    send(shown, picture(colour="blue"))
    shown.open(shown.address + "/answers")
    send(shown, picture(), says="seen")
    assert shown.address.endswith("/answers")
    assert [e.of for e in told(tmp_path, shown.address)] == ["remedy", "visit", "proof", "answer"]
    assert shown.text.count("<img ") == 4
    assert (
        "The visit file does not hold the 4 pictures" in shown.open(shown.address.replace("answers", "record")).text
    )


@pytest.mark.parametrize(
    "data", [b"<!doctype html><script>alert(1)</script>", picture()[:300], png_of(30000, 30000), b""]
)
def test_what_is_no_picture_is_refused_in_words(tmp_path: Path, data: bytes) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    send(shown, data)
    assert shown.status == 422 and not told(tmp_path, shown.address.removesuffix("/photo"))
    assert any(says in unescape(shown.text) for says in ("take it anew", "No picture was sent"))
    assert not list(tmp_path.glob("*.photos"))


def test_a_picture_sent_twice_counts_once_and_a_stale_form_changes_nothing(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    form = shown.form("pictured")
    send(shown, picture(), form)
    send(shown, picture(), form)
    assert shown.status == 200 and len(told(tmp_path, shown.address)) == 1
    send(shown, picture(colour="red"), form)
    assert shown.status == 409 and "added a picture" in shown.text
    assert len(told(tmp_path, shown.address.removesuffix("/photo"))) == 1


OF_NOTHING = (
    {"of": "joy"},
    {"which": "nothing"},
    {"of": "proof"},
    {"says": "x" * 601},
    {"of": "visit", "which": "x"},
)


@pytest.mark.parametrize("fields", OF_NOTHING)
def test_a_picture_of_nothing_is_refused_and_no_file_is_left(tmp_path: Path, fields: dict[str, str]) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    send(shown, picture(), None, **fields)
    assert shown.status == 422 and not list(tmp_path.glob("*.photos"))


def test_a_form_without_its_token_or_from_elsewhere_sends_no_picture(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    form = shown.form("pictured")
    send(shown, picture(), form, token="x")
    assert shown.status == 403
    files = {"picture": ("a.jpg", picture())}
    answer = shown.client.post(form.action, data=form.fields, files=files, headers={"Origin": "http://evil.example"})
    assert answer.status_code == 403 and not list(tmp_path.glob("*.photos"))


def test_a_body_that_is_too_large_is_not_read_to_its_end(tmp_path: Path) -> None:
    """One that does not say how large it is: what was taken in is counted."""
    shown = answered(tab(tmp_path).begin(), 1)
    form, taken = shown.form("pictured"), [0]

    def endless() -> Iterator[bytes]:
        yield b'--b\r\nContent-Disposition: form-data; name="picture"; filename="x.jpg"\r\n\r\n'
        while taken[0] < 3 * MOST_PICTURE:
            taken[0] += 1 << 20
            yield b"x" * (1 << 20)

    kind = {"Content-Type": "multipart/form-data; boundary=b"}
    answer = shown.client.post(form.action, content=endless(), headers=kind)
    assert answer.status_code == 413 and not list(tmp_path.glob("*.photos"))
    elsewhere = shown.client.post("/visit/x/photo/y", content=b"x" * 100_000, headers=kind)
    assert elsewhere.status_code in (404, 405, 413)


def test_a_file_over_the_limit_is_refused_in_words(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    send(shown, picture() + b"\0" * MOST_BYTES)
    assert shown.status == 422 and "larger than 20 MB" in shown.text


def test_only_pictures_of_this_visit_are_served(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    send(shown, picture())
    where = address_of(shown)
    folder, name = where.rsplit("/", 1)
    visit = where.split("/")[2]
    (tmp_path / "secret.jpg").write_bytes(picture())
    path = folder_of(tmp_path / f"{visit}.visit")
    (path / "00000000000000aa.jpg").symlink_to(tmp_path / "secret.jpg")
    for wrong in (
        "..%2Fsecret.jpg",
        "../secret.jpg",
        "%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "00000000000000aa.jpg",
        name.upper(),
        name + "%00",
        "." + name,
    ):
        assert shown.client.get(f"{folder}/{wrong}").status_code == 404, wrong
    other = answered(tab(tmp_path).begin(), 1)
    assert shown.client.get(f"{other.address}/photos/{name}").status_code == 404
    assert shown.client.get(where).status_code == 200
    (path / name).write_bytes(b"<script>alert(1)</script>")  # spoilt on disk: not what it was
    assert shown.client.get(where).status_code == 404 and kept(tmp_path / f"{visit}.visit", name) is None


def test_what_is_not_here_is_said_and_a_full_visit_takes_no_more(tmp_path: Path) -> None:
    events: list[Event] = [Begin(Setup(), "ghost_opening"), Reply("anyone_touched", "nobody")]
    pictures = [Pictured(f"{n:016x}.jpg", "answer", "anyone_touched") for n in range(MOST)]
    name = visit_of(tmp_path, [*events, *pictures])
    shown = Tab(client(tmp_path), f"/visit/{name}/answers")
    assert shown.text.count("not beside this copy of the visit") == MOST and "<img" not in shown.text
    assert not [f for f in shown.forms() if f.fields.get("do") == "pictured"]
    form = Form(f"/visit/{name}/photo", {"token": shown.token, "n": str(len(events) + MOST), "of": "visit"})
    send(shown, picture(), form)
    assert shown.status == 422 and f"{MOST} pictures, and can hold no more" in unescape(shown.text)


def test_a_picture_needs_the_password_like_every_page(tmp_path: Path) -> None:
    from diagnose.web.keeper import Doorkeeper

    shown = answered(tab(tmp_path).begin(), 1)
    send(shown, picture())
    locked = client(tmp_path, keeper=Doorkeeper("secret"))
    answer = locked.get(address_of(shown), follow_redirects=False)
    assert answer.status_code == 303 and answer.headers["location"] == "/login"
