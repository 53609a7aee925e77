"""What people said about the logs of a site, kept so that it is asked once: one small file beside the visits."""

import json
from collections.abc import Mapping
from pathlib import Path

from diagnose.errors import VisitError
from diagnose.store.atomic import replace_file
from diagnose.store.limited import limited_text
from diagnose.words import say

NAME = "trip_log_words.json"
_MOST_BYTES = 1_000_000
_MOST_ANSWERS = 200


def remembered(folder: Path, site: str) -> dict[str, str]:
    """Answers by a question's key; none for a site without a name, or from a file that cannot be read."""
    found = _all(folder).get(site, {}) if site else {}
    return {str(key): text for key, text in found.items() if isinstance(text, str)}


def remember(folder: Path, site: str, answers: Mapping[str, str]) -> None:
    """Keep answers beside what is known of the site, the newer winning. Raises VisitError."""
    if not site or not answers:
        return
    everything = _all(folder)
    kept = {**everything.get(site, {}), **answers}
    everything[site] = dict(list(kept.items())[-_MOST_ANSWERS:])
    try:
        folder.mkdir(parents=True, exist_ok=True)
        replace_file(folder / NAME, json.dumps(everything, ensure_ascii=False, indent=1).encode())
    except OSError as error:
        raise VisitError(say("store.words_not_kept", why=error.strerror)) from error


def _all(folder: Path) -> dict[str, dict[str, str]]:
    try:
        found = json.loads(limited_text(folder / NAME, _MOST_BYTES, NAME))
    except (OSError, ValueError, VisitError):
        return {}
    return {str(k): v for k, v in found.items() if isinstance(v, dict)} if isinstance(found, dict) else {}
