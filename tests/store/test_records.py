"""Records on disk: which files, whole or not at all, clear errors."""

from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.store.records import write

FORMATS = {"html": str.encode, "json": lambda text: text.upper().encode()}


def test_one_file_per_version_and_format(tmp_path: Path) -> None:
    written = write("ours", "theirs", tmp_path / "new", "20260301-1", FORMATS)
    assert [p.name for p in written] == [
        "20260301-1-customer.html",
        "20260301-1-customer.json",
        "20260301-1-full.html",
        "20260301-1-full.json",
    ]
    assert written[3].read_bytes() == b"THEIRS"
    assert sorted(p.name for p in (tmp_path / "new").iterdir()) == sorted(p.name for p in written)


def test_a_version_that_is_not_given_is_not_written(tmp_path: Path) -> None:
    assert [p.name for p in write("ours", None, tmp_path, "v", FORMATS)] == ["v-customer.html", "v-customer.json"]


def test_an_older_record_is_replaced_only_when_that_is_asked(tmp_path: Path) -> None:
    write("first", None, tmp_path, "v", FORMATS)
    with pytest.raises(VisitError, match="is there already and was left as it is"):
        write("second", None, tmp_path, "v", FORMATS)
    write("first", None, tmp_path, "v", FORMATS)  # the same again harms nothing
    (path, *_) = write("second", None, tmp_path, "v", FORMATS, force=True)
    assert path.read_text() == "second"


def test_nothing_is_written_when_one_of_the_formats_cannot_be_drawn(tmp_path: Path) -> None:
    def refuses(text: str) -> bytes:
        raise VisitError(f"cannot draw {text}")

    with pytest.raises(VisitError, match="cannot draw"):
        write("ours", None, tmp_path, "v", {**FORMATS, "pdf": refuses})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["", "../up", "a/b", "/abs"])
def test_a_name_with_folders_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(VisitError, match="plain name"):
        write("ours", None, tmp_path, name, FORMATS)


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(VisitError, match="choose another place with -o"):
        write("ours", None, tmp_path / "file", "v", FORMATS)


def test_a_target_that_is_a_folder_leaves_no_rest_behind(tmp_path: Path) -> None:
    (tmp_path / "v-customer.html").mkdir()
    with pytest.raises(VisitError):
        write("ours", None, tmp_path, "v", FORMATS)
    assert [p.name for p in tmp_path.iterdir()] == ["v-customer.html"]
