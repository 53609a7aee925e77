"""What a page must not tell of this machine: where things lie on it. Its own log says it in full."""

from collections.abc import Callable, Iterable
from pathlib import Path

from markupsafe import escape


def hiding(folders: Iterable[Path], database: str = "") -> Callable[[str], str]:
    """Takes the folders out of a drawn page: what lies in one is called by its name alone."""
    known = {str(form) for folder in folders for form in (folder.absolute(), folder.resolve()) if len(form.parts) > 1}
    inner = sorted(known, key=len, reverse=True)
    pairs = [(str(escape(database)), Path(database).name)] if "://" in database else []
    pairs += [(str(escape(f"{folder}/")), "") for folder in inner]
    pairs += [(str(escape(folder)), str(escape(Path(folder).name))) for folder in inner]

    def hidden(page: str) -> str:
        for path, name in pairs:
            page = page.replace(path, name)
        return page

    return hidden
