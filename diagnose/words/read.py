"""Folders of .po files -> catalogues. A language is a folder; its name is the language's code."""

import hashlib
from collections.abc import Mapping
from pathlib import Path

from diagnose import __version__
from diagnose.caching import kept
from diagnose.errors import LanguageError
from diagnose.words.catalogue import Catalogue, Texts, over

ENGLISH = "en"
SHIPPED = Path(__file__).parent


def catalogue(language: str) -> Catalogue:
    """The words of a shipped language, or of a folder of .po files; English for what it does not say.

    Raises LanguageError where there is no such language.
    """
    english, folder = own(SHIPPED / ENGLISH), folder_of(language)
    return english if folder == SHIPPED / ENGLISH else over(english, own(folder))


def folder_of(language: str) -> Path:
    for folder in (SHIPPED / language, Path(language)):
        if language and any(folder.glob("*.po")):
            return folder
    raise LanguageError(f"there is no language {language!r}; known: {', '.join(languages())}")


def languages() -> tuple[str, ...]:
    """Codes of the shipped languages."""
    return tuple(sorted(folder.name for folder in SHIPPED.iterdir() if any(folder.glob("*.po"))))


def own(folder: Path) -> Catalogue:
    """What one folder says itself. Raises LanguageError."""
    try:
        files = {path.name: path.read_text("utf-8") for path in sorted(folder.glob("*.po"))}
    except (OSError, UnicodeDecodeError) as error:
        raise LanguageError(f"cannot read the words in {folder}: {error}") from error
    return parsed(folder.name, files)


def parsed(language: str, files: Mapping[str, str]) -> Catalogue:
    """The messages of the texts of some .po files, kept by their content."""
    content = hashlib.sha256(repr((__version__, language, sorted(files.items()))).encode()).hexdigest()[:16]
    return kept(f"words-{content}", Catalogue, lambda: _parsed(language, files))


def _parsed(language: str, files: Mapping[str, str]) -> Catalogue:
    import polib  # only where nothing is kept

    texts: dict[str, Texts] = {}
    plural = ""
    for name, text in files.items():
        try:
            read = polib.pofile(text, check_for_duplicates=True)
        except (OSError, ValueError) as error:
            raise LanguageError(f"{language}/{name} is no .po file: {error}") from error
        plural = plural or _plural(read.metadata)
        for entry in (e for e in read if not e.obsolete and not e.fuzzy):
            if entry.msgid in texts:
                raise LanguageError(f"{language}/{name} says {entry.msgid!r} a second time")
            if any(forms := _forms(entry)):
                texts[entry.msgid] = forms
    return _tried(Catalogue(language, plural or "(n != 1)", texts))


def _tried(read: Catalogue) -> Catalogue:
    """The same, once its plural rule has been seen to work."""
    try:
        read.form(0)
    except (ValueError, ZeroDivisionError) as error:
        raise LanguageError(f"{read.language} has no usable Plural-Forms: {error}") from error
    return Catalogue(read.language, read.plural, read.texts)  # without the rule, which cannot be kept


def _plural(metadata: Mapping[str, str]) -> str:
    """The expression of 'nplurals=2; plural=(n != 1);'."""
    return metadata.get("Plural-Forms", "").partition("plural=")[2].rstrip("; ")


def _forms(entry: object) -> Texts:
    plural: Mapping[int, str] = entry.msgstr_plural  # type: ignore[attr-defined]
    single: str = entry.msgstr  # type: ignore[attr-defined]
    return tuple(plural[n] for n in sorted(plural)) if plural else (single,)
