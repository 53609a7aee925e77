"""Passwords: weak ones are refused, kept ones are hashed (Argon2id, with the library's own choice of cost)."""

from functools import cache
from typing import TYPE_CHECKING

from diagnose.errors import UsersError
from diagnose.words import say

if TYPE_CHECKING:
    from argon2 import PasswordHasher

LEAST, MOST = 10, 200  # characters
STRONG = 3  # of 4, by zxcvbn: about 10^8 guesses and more
JUDGED = 72  # characters, as many as zxcvbn looks at


def require_strong(password: str, name: str = "") -> None:
    """Raises UsersError at what is guessed soon: too short, common, a row of keys, repeated, made of the name."""
    if not LEAST <= len(password) <= MOST:
        raise UsersError(say("store.password_length", least=LEAST, most=MOST))
    try:
        from zxcvbn import zxcvbn
    except ModuleNotFoundError as error:
        raise UsersError(say("cli.serve_packages")) from error
    if zxcvbn(password[:JUDGED], user_inputs=[name, "diagnose", "password"])["score"] < STRONG:
        raise UsersError(say("store.password_weak"))


def hashed(password: str) -> str:
    return _hasher().hash(password)


def fits(kept: str, password: str) -> bool:
    """Whether it is the password that `kept` was made from. False as well where `kept` is no hash."""
    from argon2.exceptions import InvalidHashError, VerificationError

    if len(password) > MOST:
        return False
    try:
        return _hasher().verify(kept, password)
    except (VerificationError, InvalidHashError):
        return False


@cache
def of_nobody() -> str:
    """A hash to try a password against where there is no such user: it takes the same time, so it tells no names."""
    return hashed("nobody")


@cache
def _hasher() -> "PasswordHasher":
    try:
        from argon2 import PasswordHasher
    except ModuleNotFoundError as error:
        raise UsersError(say("cli.serve_packages")) from error
    return PasswordHasher()
