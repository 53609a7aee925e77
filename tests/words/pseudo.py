"""A second language that nobody speaks, made from the English one: every letter accented, every sentence bracketed.

Whatever is still plain on a screen in this language did not come from the catalogue or the knowledge.
"""

import re
import shutil
from pathlib import Path

import polib

from diagnose.kb.languages import FOLDER, texts_of
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words.read import ENGLISH, SHIPPED

CODE = "xx"
_PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_ACCENTED = "áƀćđéƒǵħíĵķłɱńóƥqŕśťúṽŵẋýžÁɃĆĐÉƑǴĦÍĴĶŁṀŃÓƤQŔŚŤÚṼŴẊÝŽ"
_LETTERS = str.maketrans(_PLAIN, _ACCENTED)
_NAMES = re.compile(r"(\{[^{}]*\})")
_LEFT = re.compile(r"[A-Za-z]*[a-pr-zA-PR-Z][A-Za-z]*")  # q has no accented form


def accented(text: str) -> str:
    """The letters accented, placeholders kept."""
    return "".join(part if part.startswith("{") else part.translate(_LETTERS) for part in _NAMES.split(text))


def said(key: str, text: str) -> str:
    """A text of the catalogue: lists of words to be typed stay lists."""
    return accented(text) if ".words_" in key else f"[{accented(text)}]"


def plain_words(text: str) -> list[str]:
    """What is not accented: words of three letters and more, the rest are units."""
    return [word for word in _LEFT.findall(text) if len(word) > 2]


def write_words(folder: Path) -> Path:
    """The folder of a language with every shipped .po file in it."""
    language = folder / CODE
    language.mkdir(parents=True)
    for path in (SHIPPED / ENGLISH).glob("*.po"):
        file = polib.pofile(str(path))
        file.metadata["Language"] = CODE
        for entry in file:
            entry.msgstr = said(entry.msgid, entry.msgstr) if entry.msgstr else ""
            entry.msgstr_plural = {n: said(entry.msgid, form) for n, form in entry.msgstr_plural.items()}
        file.save(str(language / path.name))
    return language


def write_knowledge(kb: KnowledgeBase, folder: Path) -> Path:
    """The file beside a knowledge folder that says all of it."""
    file = polib.POFile()
    file.metadata = {"Language": CODE, "Content-Type": "text/plain; charset=utf-8"}
    for key, text in texts_of(kb).items():
        file.append(polib.POEntry(msgid=key, msgstr=f"[{accented(text)}]"))
    path = folder / FOLDER / f"{CODE}.po"
    path.parent.mkdir(parents=True, exist_ok=True)
    file.save(str(path))
    return path


def write_pseudo(kb: KnowledgeBase, shipped: Path, folder: Path) -> None:
    """The words in words/xx, and in knowledge/ a copy of the shipped one, with its texts in languages/xx.po."""
    shutil.copytree(shipped, folder / "knowledge", ignore=shutil.ignore_patterns("cases"))
    write_knowledge(kb, folder / "knowledge")
    write_words(folder / "words")
