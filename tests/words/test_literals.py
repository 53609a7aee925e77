"""No English in the code of what speaks from the catalogue: the list of such packages only grows."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.words.read import SHIPPED

PACKAGE = SHIPPED.parent
CONVERTED = (
    "present",
    "session",
    "terminal/ask.py",
    "terminal/begin.py",
    "terminal/commands.py",
    "terminal/draw.py",
    "terminal/mend.py",
    "terminal/result.py",
    "terminal/visit.py",
)
STYLES = re.compile(r"(bold|dim)( (red|yellow))?")
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
    return bool(SENTENCE.search(text)) and not STYLES.fullmatch(text)


def silent(holder: ast.AST) -> Iterator[ast.AST]:
    """A docstring, what an assertion says, and names of types in annotations."""
    if isinstance(holder, ast.Module | ast.ClassDef | ast.FunctionDef) and holder.body:
        first = holder.body[0]
        if isinstance(first, ast.Expr):
            yield first.value
    if isinstance(holder, ast.Assert) and holder.msg:
        yield holder.msg
    if isinstance(holder, ast.AnnAssign):
        yield from ast.walk(holder.annotation)


@pytest.mark.parametrize("path", modules(), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_no_sentence_stands_in_the_code(path: Path) -> None:
    assert list(sentences(ast.parse(path.read_text("utf-8")))) == []


def test_a_sentence_in_the_code_would_be_found() -> None:
    found = sentences(
        ast.parse('"""Docs are not said."""\nsay("Not possible: " + x)\nf"{n} answers left"\nkey("terminal.x")')
    )
    assert set(found) == {"Not possible: ", " answers left"}
