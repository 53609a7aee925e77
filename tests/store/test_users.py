"""The file of users: passwords hashed, weak ones refused, nothing lost when two write, nothing readable to others."""

import json
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.errors import UsersError
from diagnose.store import passwords, users
from diagnose.store.users import KnownUsers, read_users

GOOD = "four odd words here"


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passwords, "hashed", lambda password: f"hash of {len(password)}")


def test_a_password_is_kept_hashed_and_fits_again(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "users.json"
    users.add(path, "Ann", "technician", GOOD)
    kept = read_users(path)["ann"].password
    assert kept.startswith("$argon2id$") and GOOD not in path.read_text("utf-8")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert passwords.fits(kept, GOOD) and not passwords.fits(kept, GOOD + "x") and not passwords.fits("junk", GOOD)
    assert passwords.hashed(GOOD) != kept  # salted


@pytest.mark.parametrize(
    "weak", ["", "short", " " * 10, "1234567890", "abcdefghij", "passwordpassword", "annannannann", "x" * 201]
)
def test_what_is_guessed_soon_is_refused(tmp_path: Path, weak: str) -> None:
    with pytest.raises(UsersError):
        users.add(tmp_path / "users.json", "annann", "technician", weak)
    assert not (tmp_path / "users.json").exists()


@pytest.mark.usefixtures("quick")
def test_two_at_once_lose_nobody(tmp_path: Path) -> None:
    path = tmp_path / "users.json"
    with ThreadPoolExecutor(8) as threads:
        list(threads.map(lambda n: users.add(path, f"user {n}", "help_desk", GOOD), range(24)))
    assert len(read_users(path)) == 24


@pytest.mark.usefixtures("quick")
def test_a_name_is_one_however_it_is_written(tmp_path: Path) -> None:
    path = tmp_path / "users.json"
    users.add(path, " Ann  Lee ", "technician", GOOD)
    for name in ("ann lee", "ANN LEE"):
        with pytest.raises(UsersError, match="Ann Lee is there already"):
            users.add(path, name, "technician", GOOD)
    for name in ("", "a\x00b", "\x1b[2J", "x" * 61):
        with pytest.raises(UsersError):
            users.add(path, name, "technician", GOOD)
    users.remove(path, "ANN lee")
    assert not read_users(path)


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "[]",
        '{"format": 2, "users": []}',
        '{"format": 1, "users": [{"name": "A", "role": "root", "password": "x"}]}',
        '{"format": 1, "users": [{"name": "A", "role": "technician"}]}',
        '{"format": 1, "users": [7]}',
    ],
)
def test_a_file_that_is_none_is_refused_and_never_written_over(tmp_path: Path, text: str) -> None:
    path = tmp_path / "users.json"
    path.write_text(text, "utf-8")
    with pytest.raises(UsersError):
        users.add(path, "Ann", "technician", GOOD)
    assert path.read_text("utf-8") == text


@pytest.mark.usefixtures("quick")
def test_a_server_sees_what_changes(tmp_path: Path) -> None:
    path = tmp_path / "users.json"
    known = KnownUsers(path)
    assert not known.now()
    users.add(path, "Ann", "technician", GOOD)
    assert [user.role for user in known.now().values()] == ["technician"]
    users.change(path, "ann", role="electrician")
    assert [user.role for user in known.now().values()] == ["electrician"]
    assert known.now() is known.now()


@pytest.mark.usefixtures("quick")
def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    file, secret = str(tmp_path / "users.json"), tmp_path / "secret"
    secret.write_text(f"{GOOD}\n", "utf-8")
    told = ["--users", file]
    assert main(["user", "add", "Ann", "--role", "technician", "--password-file", str(secret), *told]) == 0
    monkeypatch.setenv("DIAGNOSE_USER_PASSWORD", "other odd words here")
    assert main(["user", "add", "Max", "--role", "manager", *told]) == 0
    assert main(["user", "password", "ann", *told]) == 0
    assert main(["user", "role", "max", "--role", "administrator", *told]) == 0
    capsys.readouterr()
    assert main(["user", "list", "--json", *told]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert plain["users"] == [{"name": "Ann", "role": "technician"}, {"name": "Max", "role": "administrator"}]
    assert read_users(Path(file))["ann"].password == f"hash of {len('other odd words here')}"
    assert main(["user", "remove", "max", *told]) == 0
    assert main(["user", "remove", "max", *told]) != 0
    assert "no user max" in capsys.readouterr().err


def test_without_anybody_to_type_it_no_password_is_made_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DIAGNOSE_USER_PASSWORD", raising=False)
    assert main(["user", "add", "Ann", "--role", "technician", "--users", str(tmp_path / "users.json")]) != 0
    assert "--password-file" in capsys.readouterr().err and not (tmp_path / "users.json").exists()
