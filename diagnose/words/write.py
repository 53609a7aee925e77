"""Texts -> a .po file to be translated."""

from collections.abc import Mapping


def template(texts: Mapping[str, str]) -> str:
    """Every key without a text yet, with the English one as a comment."""
    import polib  # as for reading: no start needs it

    file = polib.POFile(wrapwidth=0)
    file.metadata = {"Content-Type": "text/plain; charset=utf-8", "Content-Transfer-Encoding": "8bit"}
    for key, text in texts.items():
        file.append(polib.POEntry(msgid=key, msgstr="", comment=text))
    return f"{file}\n"
