"""Pictures on disk: harmless, small, without a place or a name; hostile files refused with what to do."""

import os
import socket
import stat
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from diagnose.errors import VisitError
from diagnose.store import photos
from diagnose.store.photos import (
    LONGEST,
    MOST_BYTES,
    MOST_PIXELS,
    SMALL,
    bring,
    given,
    keep,
    kept,
    made,
    name_of,
    small,
)
from tests.store.pictured import GPS, SECRET, picture, png_of, segments, with_place

APP1_EXIF, APP2_ICC, COMMENT = 0xE1, 0xE2, 0xFE  # marker codes of ITU-T T.81, annex B, and of Exif 2.32, 4.7
HTML = b"<!doctype html><script>alert(1)</script>"


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


def near(image: Image.Image, at: tuple[int, int], colour: tuple[int, int, int]) -> bool:
    found = image.getpixel(at)
    assert isinstance(found, tuple)
    return all(abs(a - b) < 24 for a, b in zip(found, colour, strict=True))


def test_place_name_and_comment_are_gone_and_the_picture_stands_upright() -> None:
    sent = with_place()
    assert opened(sent).getexif().get_ifd(GPS) and {APP1_EXIF, APP2_ICC, COMMENT} <= set(segments(sent))
    image, stored = opened(made(sent)), made(sent)
    assert not dict(image.getexif()) and not image.getexif().get_ifd(GPS)
    assert not {APP1_EXIF, APP2_ICC, COMMENT} & set(segments(stored))
    assert SECRET.encode() not in stored and b"Exif" not in stored and b"GPS" not in stored
    assert image.size == (200, 320)
    assert near(image, (100, 4), (255, 0, 0)) and near(image, (100, 300), (255, 255, 255))  # the red side is on top


@pytest.mark.parametrize(
    ("size", "becomes"), [((4000, 3000), (1600, 1200)), ((300, 4000), (120, 1600)), ((640, 480), (640, 480))]
)
def test_a_large_picture_becomes_small_and_a_small_one_stays(size: tuple[int, int], becomes: tuple[int, int]) -> None:
    stored = opened(made(picture(size)))
    assert (stored.format, stored.mode, stored.size) == ("JPEG", "RGB", becomes)
    assert max(becomes) <= LONGEST


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_every_usual_kind_is_taken(kind: str) -> None:
    assert near(opened(made(picture(kind=kind))), (10, 10), (0, 128, 128))


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "I;16", "CMYK"])
def test_every_mode_becomes_a_plain_picture(mode: str) -> None:
    out = BytesIO()
    Image.new(mode, (40, 30)).save(out, "JPEG" if mode == "CMYK" else "PNG")
    assert opened(made(out.getvalue())).mode == "RGB"


def test_what_can_be_seen_through_is_white() -> None:
    out = BytesIO()
    Image.new("RGBA", (20, 20), (255, 0, 0, 0)).save(out, "PNG")
    assert near(opened(made(out.getvalue())), (5, 5), (255, 255, 255))


def text_bomb() -> bytes:
    return png_of(8, 8, (b"zTXt", b"note\0\0" + zlib.compress(b"a" * 80_000_000)))


HOSTILE = {
    "empty": b"",
    "text": b"not a picture at all",
    "html": HTML,
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "cut off": picture((400, 300))[:900],
    "cut head": picture()[:20],
    "no pixels": png_of(8, 8, (b"IEND", b"")),
    "gif": picture(kind="GIF"),
    "tiff": picture(kind="TIFF"),
    "postscript": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n",
    "heic": b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 200,
    "text bomb": text_bomb(),
    "zeros": b"\0" * 100_000,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_what_is_no_whole_picture_is_refused_with_what_to_do(name: str) -> None:
    with pytest.raises(VisitError, match="no whole JPEG, PNG or WebP picture; take it anew"):
        made(HOSTILE[name])


@pytest.mark.parametrize("size", [(9000, 9000), (30_000, 30_000), (2**31 - 1, 2**31 - 1)])
def test_a_bomb_is_refused_by_its_head(size: tuple[int, int], monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the library's own warning, beyond its own limit, and where it gives no warning yet."""
    assert size[0] * size[1] > MOST_PIXELS
    monkeypatch.setattr(Image.Image, "thumbnail", lambda *_: pytest.fail("unpacked"))
    with pytest.raises(VisitError, match="more than 52 million pixels; take it anew"):
        made(png_of(*size))


def test_a_file_that_is_too_large_is_refused() -> None:
    with pytest.raises(VisitError, match="larger than 20 MB; take the picture anew"):
        made(picture() + b"\0" * MOST_BYTES)


def test_of_a_picture_that_is_something_else_besides_only_the_picture_is_kept() -> None:
    stored = made(picture() + HTML + b"PK\x03\x04 an archive")
    assert opened(stored).size == (64, 48)
    assert b"script" not in stored and b"PK\x03\x04" not in stored


def test_spoilt_notes_of_a_camera_do_not_spoil_the_picture() -> None:
    out = BytesIO()
    Image.new("RGB", (30, 20)).save(out, "JPEG", exif=b"Exif\0\0MM\0\x2a\xff\xff\xff\xff" + b"\xff" * 40)
    assert opened(made(out.getvalue())).size == (30, 20)


def refused(path: Path) -> str:
    with pytest.raises(VisitError) as told:
        given(path)
    return str(told.value)


def test_only_a_file_is_read(tmp_path: Path) -> None:
    (tmp_path / "real.jpg").write_bytes(picture())
    (tmp_path / "link.jpg").symlink_to(tmp_path / "real.jpg")
    os.mkfifo(tmp_path / "pipe.jpg")
    with socket.socket(socket.AF_UNIX) as plug:
        plug.bind(str(tmp_path / "plug.jpg"))
    (tmp_path / "x").mkdir()
    assert given(tmp_path / "x" / ".." / "real.jpg") == given(tmp_path / "real.jpg") == picture()
    assert "link; name the picture itself" in refused(tmp_path / "link.jpg")
    assert "no file; name the file of a picture" in refused(tmp_path / "pipe.jpg")
    assert "no file; name the file of a picture" in refused(tmp_path)
    assert "no file; name the file of a picture" in refused(Path("/dev/zero"))
    assert "cannot read" in refused(tmp_path / "plug.jpg")
    assert "No such file" in refused(tmp_path / "gone.jpg")
    assert "cannot read" in refused(Path("x\0y"))


def test_a_picture_without_an_end_is_not_read_to_its_end(tmp_path: Path) -> None:
    with (tmp_path / "large.jpg").open("wb") as file:
        file.truncate(50 * MOST_BYTES)  # no room is taken on disk
    assert len(given(tmp_path / "large.jpg")) == MOST_BYTES + 1


def test_a_picture_is_kept_under_the_name_of_what_is_in_it_for_its_owner_only(tmp_path: Path) -> None:
    visit, stored = tmp_path / "20260301-120000.visit", made(picture())
    name = keep(visit, stored)
    assert name == name_of(stored) == keep(visit, stored)  # a repeat is harmless
    (path,) = (tmp_path / "20260301-120000.photos").iterdir()
    assert (path.name, path.read_bytes(), kept(visit, name)) == (name, stored, stored)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600 and stat.S_IMODE(path.parent.stat().st_mode) == 0o700


@pytest.mark.parametrize("name", ["../20260301.visit", "..", "", "x", "/etc/passwd", "0123456789abcdef.jpg\0"])
def test_nothing_but_a_picture_is_looked_for(tmp_path: Path, name: str) -> None:
    visit = tmp_path / "20260301.visit"
    visit.write_bytes(b"secret")
    keep(visit, picture())
    assert kept(visit, name) is None


def test_a_picture_that_is_gone_changed_or_a_link_is_not_there(tmp_path: Path) -> None:
    visit, stored = tmp_path / "a.visit", made(picture())
    path = photos.folder_of(visit) / keep(visit, stored)
    path.write_bytes(picture(colour="red"))
    assert kept(visit, path.name) is None
    path.unlink()
    assert kept(visit, path.name) is None
    (tmp_path / "elsewhere").write_bytes(stored)
    path.symlink_to(tmp_path / "elsewhere")
    assert kept(visit, path.name) is None


def test_a_disk_that_refuses_says_so(tmp_path: Path) -> None:
    (tmp_path / "a.photos").write_text("in the way")
    with pytest.raises(VisitError, match=r"could not be written into .*a\.photos, and nothing of it was noted"):
        keep(tmp_path / "a.visit", made(picture()))


def test_pictures_come_along_with_a_copy_as_far_as_they_are_there(tmp_path: Path) -> None:
    one, other = tmp_path / "a.visit", tmp_path / "b.visit"
    name = keep(one, made(picture()))
    spoilt = [keep(one, data) for data in (HTML, with_place(), picture((LONGEST + 1, 9)), picture()[:-200])]
    assert bring(one, other, (name, "0123456789abcdef.jpg", name, *spoilt)) == 1
    assert [p.name for p in photos.folder_of(other).iterdir()] == [name]
    assert kept(other, name) == kept(one, name)


def test_on_paper_a_picture_is_small_and_what_is_none_is_left_out(tmp_path: Path) -> None:
    visit, page = tmp_path / "a.visit", HTML
    name, none = keep(visit, made(picture((2000, 1000)))), keep(visit, page)
    found = small(visit, (name, none, "0123456789abcdef.jpg"))
    assert list(found) == [name] and opened(found[name]).size == (SMALL, 400)
