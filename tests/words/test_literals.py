"""Where everything is said from the catalogue, no English stands in the source: neither in Python nor in templates."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import diagnose

PACKAGE = Path(diagnose.__file__).parent
CONVERTED = ("web",)  # packages and modules that say everything from the catalogue
SENTENCE = re.compile(r"\b[A-Za-z]+,? [a-z]{2,}\b")  # two words with a blank between
NAMES = {"PDF", "JSON"}  # of formats, the same in every language


def sources(name: str, kind: str) -> list[Path]:
    whole = PACKAGE / name
    return sorted(whole.rglob(f"*.{kind}")) if whole.is_dir() else [whole.with_suffix(f".{kind}")]


def literals(tree: ast.AST) -> Iterator[str]:
    """Every text of a module that is no docstring."""
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.value


def left_in_template(text: str) -> Iterator[str]:
    """Words that a template says itself, between its tags or to who cannot see them."""
    drawn = re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", "", text, flags=re.S)
    told = " ".join(re.findall(r'(?:aria-label|alt|title|placeholder)="([^"]*)"', drawn))
    entities = re.sub(r"&[a-z]+;", "", re.sub(r"<[^>]*>", " ", drawn))
    yield from (word for word in re.findall(r"[A-Za-z]{2,}", f"{entities} {told}") if word not in NAMES)


@pytest.mark.parametrize("name", CONVERTED)
def test_no_sentence_stands_in_python(name: str) -> None:
    found = {
        path.name: says
        for path in sources(name, "py")
        if (says := [text for text in literals(ast.parse(path.read_text("utf-8"))) if SENTENCE.search(text)])
    }
    assert found == {}


@pytest.mark.parametrize("name", CONVERTED)
def test_no_word_stands_in_a_template(name: str) -> None:
    found = {p.name: says for p in sources(name, "html") if (says := list(left_in_template(p.read_text("utf-8"))))}
    assert found == {}


def test_what_is_looked_for_is_found() -> None:
    """Else the silence above would prove nothing."""
    code = '"""A docstring of words."""\nX = f"no visit {name} here"\nY = "default-src"\n'
    assert [text for text in literals(ast.parse(code)) if SENTENCE.search(text)] == ["no visit "]
    page = '<p class="a b">Tag: {{ say("x y") }}</p>{# note #}<nav aria-label="Site"></nav>&amp;{% if a %}PDF{% endif %}'
    assert list(left_in_template(page)) == ["Tag", "Site"]
