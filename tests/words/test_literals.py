"""No English in the code of what speaks from the catalogue: the list of such packages only grows."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.words.read import SHIPPED

PACKAGE = SHIPPED.parent
CONVERTED = (
    "cli",
    "practice",
    "present",
    "report/triplog_page.py",
    "report/triplog_plots.py",
    "session",
    "report/triplog_page.py",
    "report/triplog_plots.py",
    "terminal",
    "triplog",
    "triplog",
)
PLAIN = re.compile(r"(bold|dim)( (red|yellow))?|--?[a-z-]+ [A-Z]+")  # a style, an option as it is typed
SENTENCE = re.compile(r"[A-Za-z]{2,}[,:;]? +[A-Za-z]{2,}|^[A-Z][a-z]+(?: |$)")


def modules() -> list[Path]:
    roots = [PACKAGE / name for name in CONVERTED]
    return sorted(p for root in roots for p in ([root] if root.suffix else root.rglob("*.py")))


def sentences(tree: ast.AST) -> Iterator[str]:
    """Texts of several words, or of one with a capital; without docstrings, and what only a programmer sees."""
    passed = {id(node) for holder in ast.walk(tree) for node in silent(holder)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in passed:
            yield from filter(said, [node.value])


def said(text: str) -> bool:
    return bool(SENTENCE.search(text)) and not PLAIN.fullmatch(text)


def silent(holder: ast.AST) -> Iterator[ast.AST]:
    """What stands alone and explains, what an assertion says, names of types and their variables."""
    if isinstance(holder, ast.Expr):
        yield holder.value
    if isinstance(holder, ast.Assert) and holder.msg:
        yield holder.msg
    if isinstance(holder, ast.AnnAssign):
        yield from ast.walk(holder.annotation)
    if isinstance(holder, ast.FunctionDef) and holder.returns:
        yield from ast.walk(holder.returns)
    if isinstance(holder, ast.Call) and getattr(holder.func, "id", "") == "TypeVar":
        yield from holder.args


@pytest.mark.parametrize("path", modules(), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_no_sentence_stands_in_the_code(path: Path) -> None:
    assert list(sentences(ast.parse(path.read_text("utf-8")))) == []


def test_a_sentence_in_the_code_would_be_found() -> None:
    found = sentences(
        ast.parse('"""Docs are not said."""\nsay("Not possible: " + x)\nf"{n} answers left"\nkey("terminal.x")')
    )
    assert set(found) == {"Not possible: ", " answers left"}
