"""No English in the scripts of the offline page: what people read comes from the catalogue."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.words.read import SHIPPED

WEB = SHIPPED.parent / "pack" / "web"
SCRIPTS = sorted(WEB.glob("*.js"))
TOKEN = re.compile(
    r"""(?P<comment>//[^\n]*|/\*.*?\*/)"""
    r"""|(?P<text>"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'|`(?:\\.|[^`\\])*`)"""
    r"""|(?P<pattern>(?<=[(=,:!&|?\[])\s*/(?![/*])(?:\\.|\[(?:\\.|[^\]\\\n])*\]|[^/\\\n\[])+/[a-z]*)""",
    re.S,
)
WORD = r"[A-Za-z]{2,}"
SEVERAL = re.compile(rf"{WORD}[,:;.]? +{WORD}")
INSIDE = re.compile(r"\$\{(?:[^{}]|\{[^{}]*\})*\}")
# What only a programmer sees: a number that makes no sense leaves a calculation out, and nothing is said of it.
SILENT = re.compile(r"(?:refuse|positive|notNegative)\($|(?:positive|notNegative)\([\w.]+, $")
CLASSES = re.compile(r"class: $")
ELSEWHERE = {"posterior.js": 1}  # evidence that nothing explains; main.js says it from the catalogue


def sentences(script: str) -> Iterator[str]:
    """Literals of several words, without names of styles."""
    for token in TOKEN.finditer(script):
        before = script[max(0, token.start() - 60) : token.start()]
        passed = SILENT.search(before) or CLASSES.search(before)
        if token["text"] and not passed and SEVERAL.search(INSIDE.sub("", token["text"])):
            yield token["text"]


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda p: p.name)
def test_no_sentence_stands_in_a_script(script: Path) -> None:
    found = list(sentences(script.read_text("utf-8")))
    assert len(found) == ELSEWHERE.get(script.name, 0), found


def test_the_template_says_nothing_itself() -> None:
    body = (WEB / "template.html").read_text("utf-8").partition("<title>")[2]
    assert not re.search(r">[^<@]*[A-Za-z][^<@]*<", body)


@pytest.mark.parametrize("line", ['h("p", {}, "Say this");', "x = `Say ${n} this one`;", "say = /a b/; x = 'on it';"])
def test_a_sentence_would_be_found(line: str) -> None:
    assert list(sentences(line))


@pytest.mark.parametrize(
    "line", ["// no words here", 'h("p", { class: "card due" })', "x = /two words/u;", 'refuse("not so");']
)
def test_what_nobody_reads_is_passed_over(line: str) -> None:
    assert not list(sentences(line))
