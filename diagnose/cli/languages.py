"""`diagnose languages`: which languages there are, what one does not say yet, and a file to translate from."""

import argparse
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import folder_of, screen_of
from diagnose.kb.cache import load_english
from diagnose.kb.languages import FOLDER, said, texts_of
from diagnose.store.atomic import give_file
from diagnose.terminal.screen import Screen
from diagnose.words import say
from diagnose.words.complete import Completeness, of_texts, of_words
from diagnose.words.read import ENGLISH
from diagnose.words.read import folder_of as words_of
from diagnose.words.read import languages as shipped
from diagnose.words.write import template


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("language", nargs="?", default="", help=say("cli.languages_one"))
    parser.add_argument("--template", metavar="FILE", default="", help=say("cli.languages_template"))
    force_option(parser)


def run(args: argparse.Namespace) -> int:
    """Every language, or one of them in detail. 1 where it is not complete."""
    screen = screen_of(args)
    if args.template:
        return _template(args, screen)
    if args.language:
        return _one(screen, args.language, folder_of(args), every=True)
    for language in shipped():
        _one(screen, language, folder_of(args), every=False)
    return 0


def _one(screen: Screen, language: str, folder: Path, every: bool) -> int:
    path = folder / FOLDER / f"{words_of(language).name}.po"
    knowledge = of_texts(texts_of(load_english(folder)), said(path) if path.is_file() else {})
    parts = {"cli.words": of_words(language)} | ({} if language == ENGLISH else {"cli.knowledge": knowledge})
    screen.heading(language)
    for label, found in parts.items():
        _draw(screen, say(label), found, every)
    return 1 if every and any(p.missing or p.faulty for p in parts.values()) else 0


def _draw(screen: Screen, label: str, found: Completeness, every: bool) -> None:
    screen.pair(label, say("cli.complete", said=found.of - len(found.missing), of=found.of))
    for key in found.missing if every else ():
        screen.hanging("  ", say("cli.missing", key=key))
    for key, why in found.faulty:
        screen.hanging("  ", say("cli.faulty", key=key, why=why))


def _template(args: argparse.Namespace, screen: Screen) -> int:
    """The knowledge's texts, to be translated, with the English beside each."""
    path = Path(args.template)
    text = template(texts_of(load_english(folder_of(args))))
    give_file(path, text.encode(), "--template FILE", args.force)
    screen.line(say("cli.template_written", path=path))
    return 0
