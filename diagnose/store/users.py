"""The named users of the pages, in one file: name, role and hashed password. Read anew whenever it has changed."""

import json
import threading
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from platformdirs import user_data_path

from diagnose.errors import UsersError
from diagnose.session.persons import ROLES
from diagnose.store import passwords
from diagnose.store.atomic import PRIVATE, replace_file
from diagnose.store.limited import limited_bytes
from diagnose.store.locking import in_turn
from diagnose.words import say

FORMAT = 1
LONGEST_NAME = 60
MOST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True)
class User:
    """`password` is its hash."""

    name: str
    role: str
    password: str


Users = Mapping[str, User]  # by key


def users_path(chosen: str = "") -> Path:
    return Path(chosen).expanduser() if chosen else user_data_path("gate-diagnose") / "users.json"


def key_of(name: str) -> str:
    """What two ways to write one name have in common."""
    return " ".join(name.split()).casefold()


def read_users(path: Path) -> Users:
    """Nobody where there is no file. Raises UsersError."""
    try:
        plain = json.loads(limited_bytes(path, MOST_BYTES, say("store.a_users_file")))
        if plain["format"] != FORMAT:
            raise ValueError(say("store.users_format", format=FORMAT))
        return {key_of(user.name): user for user in (_read(given) for given in plain["users"])}
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, KeyError, TypeError) as error:
        why = (error.strerror if isinstance(error, OSError) else "") or error
        raise UsersError(say("store.cannot_read", path=path, why=why)) from error


def _read(given: Mapping[str, str]) -> User:
    user = User(**given)
    if user.role not in ROLES or not all(isinstance(text, str) for text in asdict(user).values()):
        raise ValueError(say("store.user_role", role=repr(user.role), known=", ".join(ROLES)))
    return user


def add(path: Path, name: str, role: str, password: str) -> None:
    """Raises UsersError where the name is taken or no name, or the password is weak."""
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise UsersError(say("store.user_name", most=LONGEST_NAME))
    passwords.require_strong(password, name)
    user = User(name, role, passwords.hashed(password))

    def added(users: Users) -> Users:
        if taken := users.get(key_of(name)):
            raise UsersError(say("store.user_there", name=taken.name))
        return {**users, key_of(name): user}

    _change(path, added)


def remove(path: Path, name: str) -> None:
    _change(path, lambda users: {key: user for key, user in users.items() if user != known(users, name)})


def change(path: Path, name: str, password: str = "", role: str = "") -> None:
    """A new password, a new role, or both. Raises UsersError."""
    if password:
        passwords.require_strong(password, name)
    made = passwords.hashed(password) if password else ""

    def changed(users: Users) -> Users:
        user = known(users, name)
        return {**users, key_of(name): replace(user, password=made or user.password, role=role or user.role)}

    _change(path, changed)


def known(users: Users, name: str) -> User:
    """Raises UsersError."""
    if user := users.get(key_of(name)):
        return user
    raise UsersError(say("store.no_user", name=name, known=", ".join(u.name for u in users.values()) or "-"))


def _change(path: Path, act: Callable[[Users], Users]) -> None:
    """One at a time, so that two who change the file at once lose nothing. Raises UsersError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with in_turn(path.with_name(f".{path.name}.lock")):
            users = act(read_users(path))
            plain = {"format": FORMAT, "users": [asdict(user) for user in users.values()]}
            replace_file(path, json.dumps(plain, indent=1, ensure_ascii=False).encode(), PRIVATE)
    except OSError as error:
        raise UsersError(say("store.cannot_write", path=path, why=error.strerror)) from error


class KnownUsers:
    """The users as the file has them now, for a server that goes on meanwhile. Safe to share between threads."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._seen: tuple[int, ...] = ()
        self._users: Users = {}

    def now(self) -> Users:
        """Raises UsersError: a file that cannot be read lets nobody in."""
        with self._lock:
            seen = self._look()
            if seen != self._seen:
                self._users, self._seen = read_users(self._path), seen
            return self._users

    def _look(self) -> tuple[int, ...]:
        try:
            found = self._path.stat()
        except FileNotFoundError:
            return ()
        except OSError as error:
            raise UsersError(say("store.cannot_read", path=self._path, why=error.strerror)) from error
        return found.st_mtime_ns, found.st_ino, found.st_size
