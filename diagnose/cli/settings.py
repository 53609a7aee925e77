"""`diagnose settings`: what is set, and by what."""

import argparse
from collections.abc import Mapping

from diagnose.cli.plainly import json_option, print_json
from diagnose.cli.shared import screen_of
from diagnose.errors import SettingsError
from diagnose.store.atomic import PRIVATE, replace_file
from diagnose.store.settings import IN_A_FILE, NAMES, PREFIX, Setting, all_set, settings_path
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--init", action="store_true", help=say("cli.settings_init"))
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Every setting with what says it; what may hold a password is not shown."""
    screen, path = screen_of(args), settings_path()
    if args.init:
        _init()
        screen.line(say("cli.settings_written", path=path.resolve()))
        return 0
    found = {name: _shown(name, setting) for name, setting in all_set().items()}
    if args.json:
        print_json(file=str(path), settings=found)
        return 0
    screen.row("", say("cli.settings_file", path=path))
    for name in NAMES:
        screen.row(f"{name}: ", _says(found, name))
    return 0


def _shown(name: str, setting: Setting) -> Setting:
    return Setting(say("cli.settings_secret"), setting.source) if name in IN_A_FILE else setting


def _says(found: Mapping[str, Setting], name: str) -> str:
    if setting := found.get(name):
        return say("cli.settings_set", value=setting.value, source=setting.source)
    return say("cli.settings_unset", variable=f"{PREFIX}{name.upper()}")


def _init() -> None:
    """A file in which every setting stands, each with what it is for; it sets nothing yet. Never over another."""
    path = settings_path()
    if path.exists():
        raise SettingsError(say("store.exists_already", path=path))
    lines = [f'# {say(f"cli.settings_{name}")}\n# {name} = ""\n' for name in NAMES]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, "\n".join(lines).encode(), PRIVATE)
    except OSError as error:
        raise SettingsError(say("store.cannot_write", path=path, why=error.strerror)) from error
