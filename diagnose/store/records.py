"""Writes the records of a visit beside each other; each file appears whole or not at all."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeVar

from platformdirs import user_data_path

from diagnose.errors import VisitError
from diagnose.store.atomic import replace_file, require_free
from diagnose.store.settings import all_set
from diagnose.words import say

R = TypeVar("R")


def records_folder() -> Path:
    """Where records go unless somebody says otherwise. Raises SettingsError."""
    chosen = all_set().get("records")
    return Path(chosen.value).expanduser() if chosen else user_data_path("gate-diagnose") / "records"


def write(
    customer: R | None,
    full: R | None,
    folder: Path,
    name: str,
    formats: Mapping[str, Callable[[R], bytes]],
    force: bool = False,
) -> list[Path]:
    """Files 'NAME-customer.html', 'NAME-full.html' and so on, for each version given and each format.

    `formats` maps a file ending to what draws it. All are drawn before the first is written; an older file of the
    same name is replaced only with `force`. Raises VisitError also when the folder cannot be written.
    """
    if not name or Path(name).name != name:
        raise VisitError(say("store.no_record_name", name=repr(name)))
    versions = {"customer": customer, "full": full}
    drawn = {
        folder / f"{name}-{version}.{ending}": draw(record)
        for version, record in versions.items()
        if record is not None
        for ending, draw in formats.items()
    }
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, data in drawn.items():
            if not path.is_file() or path.read_bytes() != data:
                require_free(path, "-o FOLDER", force)
        for path, data in drawn.items():
            replace_file(path, data)
    except OSError as error:
        raise VisitError(say("store.record_not_written", folder=folder, why=error.strerror)) from error
    return list(drawn)
