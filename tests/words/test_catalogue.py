"""The English catalogue: each sentence once, each key used and each used key there, nothing but words in a text."""

import re
from collections import defaultdict
from pathlib import Path

import pytest

from diagnose.errors import LanguageError
from diagnose.words.catalogue import Catalogue, over, placeholders, problems
from diagnose.words.read import ENGLISH, SHIPPED, own, parsed

ENGLISH_WORDS = own(SHIPPED / ENGLISH)
PACKAGE = SHIPPED.parent
AREAS = "|".join(path.stem for path in (SHIPPED / ENGLISH).glob("*.po"))
KEY = re.compile(rf"""["'`]((?:{AREAS})\.[a-z0-9_]*)(["'{{$])""")
FILES = (".html", ".css")  # templates, whose names look like keys
LONG = 4  # words of a sentence that may stand once only


def sources() -> list[Path]:
    kinds = ("*.py", "*.js", "*.html")
    return [path for kind in kinds for path in PACKAGE.rglob(kind)]


def named() -> tuple[set[str], set[str]]:
    """Keys named in full anywhere in the package, and beginnings of keys that are put together."""
    whole, begun = set[str](), set[str]()
    for path in sources():
        for key, end in KEY.findall(path.read_text("utf-8")):
            if key.endswith(FILES):
                continue
            (begun if end in "{$" else whole).add(key)
    return whole, begun


def words(text: str) -> str:
    return " ".join(re.findall(r"\w+|\{\w+\}", text.casefold()))


def test_no_sentence_stands_twice() -> None:
    places = defaultdict(list)
    for key, forms in ENGLISH_WORDS.texts.items():
        for text in dict.fromkeys(forms):
            if len(words(text).split()) >= LONG:
                places[words(text)].append(key)
    assert {text: keys for text, keys in places.items() if len(keys) > 1} == {}


def test_every_key_that_is_named_is_there_and_every_key_is_named() -> None:
    whole, begun = named()
    keys = set(ENGLISH_WORDS.texts)
    assert whole - keys == set()
    assert {b for b in begun if not any(k.startswith(b) for k in keys)} == set()
    assert {k for k in keys - whole if not any(k.startswith(b) for b in begun)} == set()


@pytest.mark.parametrize("path", sorted((SHIPPED / ENGLISH).glob("*.po")), ids=lambda p: p.stem)
def test_keys_begin_with_the_name_of_their_file(path: Path) -> None:
    texts = parsed(ENGLISH, {path.name: path.read_text("utf-8")}).texts
    assert texts and all(re.fullmatch(rf"{path.stem}\.[a-z0-9_]+", key) for key in texts)


def test_a_text_is_words_only() -> None:
    for key, forms in ENGLISH_WORDS.texts.items():
        for text in forms:
            assert text == text.strip() and "  " not in text and "<" not in text and "\n" not in text, key
            assert all(name.isidentifier() for name in placeholders(text)), key


def test_plural_forms_follow_the_number() -> None:
    assert ENGLISH_WORDS.say("present.lines_to_go", n=1) == "one line to go"
    assert ENGLISH_WORDS.say("present.lines_to_go", n=12) == "12 lines to go"


def headed(rule: str) -> dict[str, str]:
    return {"a.po": f'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=3; plural={rule};\\n"\n'}


def test_the_plural_rule_is_the_file_s_own() -> None:
    assert parsed("pl", headed(POLISH)).plural == POLISH
    assert parsed("pl", headed(POLISH)).form(22) == 1
    with pytest.raises(LanguageError, match="no usable Plural-Forms"):
        parsed("zz", headed("__import__(n)"))


POLISH = "(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2)"


def test_another_language_has_its_own_plurals_and_english_fills_them_up() -> None:
    english = Catalogue("en", "(n != 1)", {"a.lines": ("one line", "{n} lines"), "a.b": ("plain",)})
    other = Catalogue("pl", POLISH, {"a.lines": ("{n} linia", "{n} linie", "{n} linii")})
    both = over(english, other)
    assert [both.say("a.lines", n=n) for n in (1, 3, 5, 22)] == ["1 linia", "3 linie", "5 linii", "22 linie"]
    assert both.say("a.b") == "plain"
    bare = over(english, Catalogue("pl", POLISH, {}))
    assert [bare.say("a.lines", n=n) for n in (1, 3, 5)] == ["one line", "3 lines", "5 lines"]


@pytest.mark.parametrize(
    ("key", "forms", "why"),
    [
        ("a.new", ("x",), "unknown key"),
        ("a.lines", ("x",), "another number of plural forms"),
        ("a.b", ("x {y}",), "other placeholders than in English"),
        ("a.b", ("x {name.__class__}",), "other placeholders than in English"),
        ("a.b", ("x {name",), "other placeholders than in English"),
    ],
)
def test_what_cannot_be_used_is_named_and_said_in_english(key: str, forms: tuple[str, ...], why: str) -> None:
    english = Catalogue("en", "(n != 1)", {"a.lines": ("one line", "{n} lines"), "a.b": ("for {name}",)})
    other = Catalogue("de", "(n != 1)", {key: forms})
    assert dict(problems(english, other)) == {key: why}
    assert over(english, other).texts == english.texts
