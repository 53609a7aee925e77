"""The compiled knowledge in the user's cache folder: used when it fits, rebuilt when it does not."""

import pickle
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import ClassVar

import pytest

from diagnose import caching
from diagnose.errors import KnowledgeError
from diagnose.kb import cache, check
from diagnose.kb.cache import load_knowledge
from diagnose.kb.load import Loaded
from diagnose.kb.text import Problem
from tests.kb.minimal import FILES, changed


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The minimal knowledge as files, and an empty cache folder of its own."""
    monkeypatch.setattr(caching, "user_cache_path", lambda _: tmp_path / "cache")
    monkeypatch.setattr(caching, "user_data_path", lambda _: tmp_path / "data")
    write(tmp_path / "knowledge", FILES)
    return tmp_path / "knowledge"


def write(folder: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")


def cached(folder: Path) -> Path:
    (path,) = (folder.parent / "cache").glob("knowledge-*")
    return path


@pytest.fixture
def builds(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Grows by one with every build from text."""
    counted: list[int] = []
    original = check.problems_of

    def counting(loaded: Loaded) -> list[Problem]:
        counted.append(1)
        return original(loaded)

    monkeypatch.setattr(check, "problems_of", counting)
    return counted


def test_second_load_comes_from_the_cache(folder: Path, builds: list[int]) -> None:
    assert load_knowledge(folder) == load_knowledge(folder)
    assert len(builds) == 1


def test_changed_text_is_built_anew(folder: Path, builds: list[int]) -> None:
    before = load_knowledge(folder)
    write(folder, changed("says: a loose wire", "says: a very loose wire")[0])
    after = load_knowledge(folder)
    assert after.causes["loose"].says == "a very loose wire" and after.digest != before.digest
    assert len(builds) == 2


def test_changed_picture_is_built_anew_and_kept_with_the_rest(folder: Path, builds: list[int]) -> None:
    before = load_knowledge(folder)
    files, name = changed("Where the lamp is", "Where the lamp sits")
    write(folder, files)
    after = load_knowledge(folder)
    assert after.pictures == {"lamp_place": files[name]} != before.pictures and after.digest != before.digest
    assert load_knowledge(folder) == after and len(builds) == 2


def flip_a_byte(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)


def seal(path: Path, body: bytes) -> None:
    """As the program itself does."""
    path.write_bytes(caching._seal(path, body, caching._key()) + b"\n" + body)


class Runs:
    """What runs code when it is read."""

    ran: ClassVar[list[int]] = []

    def __reduce__(self) -> tuple[object, tuple[int]]:
        return Runs.ran.append, (1,)


def sealed_without_key(path: Path) -> None:
    """What whoever can write the folder, and no more, can do."""
    body = pickle.dumps(Runs())
    path.write_bytes(sha256(path.name.encode() + b"\n" + body).hexdigest().encode() + b"\n" + body)


def sealed_with_another_key(path: Path) -> None:
    body = pickle.dumps(Runs())
    path.write_bytes(caching._seal(path, body, b"k" * caching.KEY_BYTES) + b"\n" + body)


@pytest.mark.parametrize("forge", [sealed_without_key, sealed_with_another_key])
def test_whoever_writes_the_cache_folder_runs_no_code(
    folder: Path, builds: list[int], forge: Callable[[Path], None]
) -> None:
    first = load_knowledge(folder)
    forge(cached(folder))
    assert load_knowledge(folder) == first and len(builds) == 2 and not Runs.ran


def test_the_key_is_the_users_alone_and_made_once(folder: Path) -> None:
    load_knowledge(folder)
    key = folder.parent / "data" / "cache.key"
    assert key.stat().st_mode & 0o777 == 0o600 and caching._key() == key.read_bytes() != b""


@pytest.mark.parametrize("what", ["readable to others", "short", "a link", "a folder"])
def test_without_a_key_of_ones_own_nothing_is_kept(folder: Path, builds: list[int], what: str) -> None:
    load_knowledge(folder)
    key = folder.parent / "data" / "cache.key"
    if what == "readable to others":
        key.chmod(0o644)
    elif what == "short":
        key.write_bytes(b"k")
    else:
        key.rename(key.with_name("other"))
        key.symlink_to("other") if what == "a link" else key.mkdir()
    assert load_knowledge(folder) == load_knowledge(folder) and len(builds) == 3


@pytest.mark.parametrize(
    "spoil",
    [
        flip_a_byte,
        lambda path: path.write_bytes(b""),
        lambda path: path.write_bytes(path.read_bytes()[:-20]),
        lambda path: path.write_bytes(b"\x80\x05garbage"),
        lambda path: seal(path, pickle.dumps({"not": "knowledge"})),
        lambda path: seal(path, b"no pickle"),
    ],
    ids=["flipped", "empty", "cut", "garbage", "other record", "sealed garbage"],
)
def test_damaged_cache_is_rebuilt(folder: Path, builds: list[int], spoil: Callable[[Path], object]) -> None:
    first = load_knowledge(folder)
    spoil(cached(folder))
    assert load_knowledge(folder) == first and len(builds) == 2
    assert load_knowledge(folder) == first and len(builds) == 2  # and repaired


def test_cache_of_other_content_under_the_right_name_is_refused(folder: Path, builds: list[int]) -> None:
    load_knowledge(folder)
    stale = cached(folder).read_bytes()
    write(folder, changed("says: a loose wire", "says: a very loose wire")[0])
    load_knowledge(folder)
    for path in (folder.parent / "cache").glob("knowledge-*"):
        path.write_bytes(stale)
    assert load_knowledge(folder).causes["loose"].says == "a very loose wire" and len(builds) == 3


def test_cache_of_other_record_fields_is_not_looked_at(
    folder: Path, builds: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A pickled slots record restores its values by position, so one of other fields would load shifted."""
    load_knowledge(folder)
    monkeypatch.setattr(cache, "record_shape", lambda: "0therone")
    load_knowledge(folder)
    assert len(builds) == 2


def test_cache_folder_that_cannot_be_written_does_not_matter(folder: Path, builds: list[int]) -> None:
    """A file where the folder should be; permissions would not stop an administrator."""
    (folder.parent / "cache").write_text("in the way")
    assert load_knowledge(folder) == load_knowledge(folder)
    assert len(builds) == 2


def test_broken_knowledge_raises_with_every_problem_and_is_not_cached(folder: Path) -> None:
    files, _ = changed("family: wiring", "family: wirring")
    write(folder, {**files, "shared.yaml": FILES["shared.yaml"].replace("opening: [made_safe]", "opening: [nope]")})
    with pytest.raises(KnowledgeError, match=r"2 problem\(s\)") as raised:
        load_knowledge(folder)
    assert len(raised.value.problems) == 2 and raised.value.problems[0].startswith("entries.yaml:5:5: ")
    assert not list((folder.parent / "cache").glob("knowledge-*"))
