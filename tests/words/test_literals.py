"""No English in the code of what speaks from the catalogue: the list of such packages only grows."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.words.read import SHIPPED

PACKAGE = SHIPPED.parent
CONVERTED = (
    "cards",
    "cases",
    "cli",
    "kb",
    "measure",
    "practice",
    "present",
    "report",
    "session",
    "store",
    "terminal",
    "triplog",
    "web",
)
PLAIN = re.compile(r"(bold|dim)( (red|yellow))?|--?[a-z-]+ [A-Z]+")  # a style, an option as it is typed
WIRE = re.compile(  # headers, and categories of characters
    r"\w+/\w+; charset=[\w-]+|; Path=/; .*|default-src .*|private, max-age=\d+|[A-Z][a-z]"
)
WORDS_OF_OTHERS = {  # file -> texts that are no sentences of ours: SQL, what a database says, names in recorded files
    "cases/baseline.py": re.compile(
        r"first.*|right at .*|no doubt .*|nothing .*|(questions|minutes) .*|wrong .*|log score"
    ),
    "cases/from_visit.py": re.compile(r"TO DO"),
    "kb/lint_checks.py": re.compile(r"\\b.*"),
    "kb/pictures.py": re.compile(r"x y x1 .*"),
    "measure/simulate.py": re.compile(r"(first|second) cause"),
    "report/card_pdf_pages.py": re.compile(r"Helvetica"),
    "report/pdf_text.py": re.compile(r"Vera"),
    "report/svg.py": re.compile(r"<(svg|path) .*"),
    "store/history/history.py": re.compile(r"REPEATABLE READ"),
    "store/history/migrations.py": re.compile(r".*[A-Z]{3}.*", re.DOTALL),
    "store/history/place.py": re.compile(r"(PRAGMA|BEGIN) .*"),
    "store/history/trouble.py": re.compile(r"[a-z ]+"),
}
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
    return bool(SENTENCE.search(text)) and not PLAIN.fullmatch(text) and not WIRE.fullmatch(text)


def silent(holder: ast.AST) -> Iterator[ast.AST]:
    """What stands alone and explains, what an assertion says, names of types and their variables."""
    if isinstance(holder, ast.Expr):
        yield holder.value
    if isinstance(holder, ast.Assert) and holder.msg:
        yield holder.msg
    hints = [getattr(holder, "annotation", None), getattr(holder, "returns", None)]
    yield from (node for hint in hints if hint for node in ast.walk(hint))
    if isinstance(holder, ast.Call) and getattr(holder.func, "id", "") == "TypeVar":
        yield from holder.args


@pytest.mark.parametrize("path", modules(), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_no_sentence_stands_in_the_code(path: Path) -> None:
    passed = WORDS_OF_OTHERS.get(path.relative_to(PACKAGE).as_posix(), re.compile(""))
    assert [s for s in sentences(ast.parse(path.read_text("utf-8"))) if not passed.fullmatch(s)] == []


def test_a_sentence_in_the_code_would_be_found() -> None:
    found = sentences(
        ast.parse('"""Docs are not said."""\nsay("Not possible: " + x)\nf"{n} answers left"\nkey("terminal.x")')
    )
    assert set(found) == {"Not possible: ", " answers left"}
