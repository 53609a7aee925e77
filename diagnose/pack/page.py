"""Template, style, scripts and knowledge -> one HTML file that asks for nothing from outside."""

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache
from html import escape
from importlib import resources
from typing import Any

from diagnose.words import say, spoken

MODULES = (
    "py", "words", "kb", "sha256", "units", "units_read", "calc", "sun", "gear", "facts", "rules", "findings",
    "chain", "pairs", "network", "posterior", "course", "repair", "policy", "permit", "stage", "exclude",
    "asking", "looks", "reason", "wording", "session", "photos", "checklist", "grounds", "law", "mending", "ending",
    "summary", "doubts", "dispatch", "caller", "hear_stem", "hear_text", "hear_written",
    "hear_phrases", "hear", "match", "hearing",
    "plain", "journal", "recover", "disk", "store", "present_figures", "minutes", "present_cautions",
    "present_answers",
    "present_question", "present_looks", "present_notices", "present_reasons", "strip", "present_strip",
    "present_caller", "present_conclusion", "present_mending", "present_ending", "present_photos", "present_sheet",
    "api", "dom", "ui_cautions", "ui_begin", "ui_heard", "ui_question", "ui_round", "ui_explain", "ui_result",
    "ui_mend", "ui_visits", "main",
)  # fmt: skip
_SLOT = re.compile(r"@@([a-z]+)@@")
_OPENS = re.compile("<(?=[/!sS])")  # </script, <!-- and <script are all that HTML reads in a script element
_SAID = {  # slots of the template
    "title": "page.title",
    "name": "page.name",
    "jump": "page.jump",
    "visits": "page.all_visits",
    "scriptless": "page.without_script",
}


def page(payload: Mapping[str, Any]) -> bytes:
    """UTF-8 HTML; the content security policy lets only its own script and style run."""
    script, style = script_text(), _text("pack.css")
    parts = {
        "policy": f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "base-uri 'none'; form-action 'none'",
        "style": style,
        "script": script,
        "payload": as_data(payload),
        "language": escape(spoken().language),
    }
    parts |= {slot: escape(say(key)) for slot, key in _SAID.items()}
    return _SLOT.sub(lambda slot: parts[slot[1]], _text("template.html")).encode()


@cache
def script_text() -> str:
    """All modules in one strict function, so that nothing leaks into the page's global names."""
    lines = (line.strip() for name in MODULES for line in _text(f"{name}.js").splitlines())
    body = "\n".join(line for line in lines if not line.startswith("//"))  # comments need not travel
    return f'\n(() => {{\n"use strict";\n{body}}})();\n'


def as_data(payload: Mapping[str, Any]) -> str:
    """JSON that can stand inside a script element: no '<' that could begin its end, a comment or another element."""
    return _OPENS.sub("\\\\u003c", json.dumps(payload, ensure_ascii=False, separators=(",", ":")))


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _text(name: str) -> str:
    return (resources.files("diagnose.pack") / "web" / name).read_text("utf-8")
