"""What somebody has set once for all: a variable wins over the settings file, an option over both.

The file is TOML, `NAME = "text"` on a line. A secret may lie in a file of its own: NAME_file, or DIAGNOSE_NAME_FILE.
"""

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from platformdirs import user_config_path

from diagnose.errors import SettingsError
from diagnose.store.limited import limited_bytes
from diagnose.words import say

PREFIX = "DIAGNOSE_"
PLACE = f"{PREFIX}SETTINGS"  # the file itself, where it is another
ROLES = ("technician", "electrician", "help_desk")
NAMES = ("role", "gear", "sensors", "without", "visits", "records", "database", "knowledge", "lang")
IN_A_FILE = ("database",)  # what may hold a password
OLD = {"database": f"{PREFIX}HISTORY"}  # variables of former versions
MOST_BYTES = 100_000


@dataclass(frozen=True, slots=True)
class Setting:
    """`source` is the variable or the file that says it."""

    value: str
    source: str


def settings_path() -> Path:
    chosen = os.environ.get(PLACE, "")
    return Path(chosen) if chosen else user_config_path("gate-diagnose") / "settings.toml"


def all_set() -> Mapping[str, Setting]:
    """What is set, by name. Raises SettingsError."""
    path = settings_path()
    found = {name: Setting(value, str(path)) for name, value in _written(path).items()}
    found |= {name: variable for name in NAMES if (variable := _variable(name))}
    if (role := found.get("role")) and role.value not in ROLES:
        raise SettingsError(say("store.setting_role", source=role.source, value=role.value, known=", ".join(ROLES)))
    return found


def secret(path: str) -> str:
    """The only line of a file. Raises SettingsError."""
    try:
        return limited_bytes(Path(path).expanduser(), MOST_BYTES, say("store.a_secret")).decode("utf-8").strip()
    except (OSError, ValueError) as error:
        why = (error.strerror if isinstance(error, OSError) else "") or error
        raise SettingsError(say("store.cannot_read", path=path, why=why)) from error


def _variable(name: str) -> Setting | None:
    for variable in filter(None, (f"{PREFIX}{name.upper()}", OLD.get(name))):
        if value := os.environ.get(variable, ""):
            return Setting(value, variable)
    variable = f"{PREFIX}{name.upper()}_FILE"
    held = os.environ.get(variable, "") if name in IN_A_FILE else ""
    return Setting(secret(held), variable) if held else None


def _written(path: Path) -> dict[str, str]:
    """What the file says; nothing where there is none."""
    if not path.is_file():
        if os.environ.get(PLACE):
            raise SettingsError(say("store.no_settings", path=path, variable=PLACE))
        return {}
    try:
        plain = tomllib.loads(limited_bytes(path, MOST_BYTES, say("store.a_settings_file")).decode("utf-8"))
    except (OSError, ValueError) as error:
        raise SettingsError(say("store.settings_not_read", path=path, why=error)) from error
    return {name.removesuffix("_file"): value for name, value in (_said(path, *item) for item in plain.items())}


def _said(path: Path, name: str, value: object) -> tuple[str, str]:
    known = (*NAMES, *(f"{secret}_file" for secret in IN_A_FILE))
    if name not in known:
        near = get_close_matches(name, known, 1)
        others = say("store.settings_known", known=", ".join(known))
        meant = say("store.setting_meant", name=near[0]) if near else others
        raise SettingsError(say("store.no_setting", path=path, name=repr(name), meant=meant))
    if not isinstance(value, str):
        raise SettingsError(say("store.setting_text", path=path, name=name))
    return name, secret(value) if name.endswith("_file") and value else value
