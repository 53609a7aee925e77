"""What a picture may hold, one thing wrong at a time; and the shipped pictures."""

import re
from collections.abc import Iterator

import pytest

from diagnose.kb.pictures import MAX_BYTES, WIDTH, picture_problems
from tests.kb.minimal import FILES, changed, line_of, problems
from tests.shipped import knowledge

NAME = "pictures/lamp_place.svg"
GOOD = FILES[NAME]
CIRCLE = '<circle cx="20" cy="20" r="8" fill="#d13b2e"/>'
# what the good picture says -> what the bad one says; a pattern for the line blamed; a pattern for the message
Case = tuple[str, str, str, str]
CASES: list[Case] = [
    (CIRCLE, "<script>alert(1)</script>", "<script", "element 'script' is not allowed"),
    (CIRCLE, "<style>a</style>", "<style", "element 'style' is not allowed"),
    (CIRCLE, '<foreignObject width="9"/>', "<foreign", "element 'foreignObject' is not allowed"),
    (CIRCLE, '<use x="1"/>', "<use", "element 'use' is not allowed"),
    (CIRCLE, '<image x="1"/>', "<image", "element 'image' is not allowed"),
    (CIRCLE, '<animate dx="1"/>', "<animate", "element 'animate' is not allowed"),
    (CIRCLE, "<svg/>", "<svg/>", "one svg element with the drawing"),
    (CIRCLE, "<!-- > -->", "<!--", "a comment is not allowed"),
    (CIRCLE, "<![CDATA[<b>]]>", "CDATA", "CDATA is not allowed"),
    (CIRCLE, "<?php x?>", r"<\?php", "a processing instruction is not allowed"),
    ("At the top left", "<g/>At the top left", "<g/>", "title and desc hold words only"),
    ('r="8"', 'r="8" onclick="alert(1)"', "onclick", "the attribute 'onclick' is not allowed"),
    ('r="8"', 'r="8" style="fill:red"', "style", "the attribute 'style' is not allowed"),
    ('r="8"', 'r="8" href="#a"', "href", "the attribute 'href' is not allowed"),
    ('r="8"', 'r="8" id="a"', "id=", "the attribute 'id' is not allowed"),
    ('r="8"', 'r="8" class="a"', "class=", "the attribute 'class' is not allowed"),
    ('r="8"', 'r="8" role="img"', "circle", "the attribute 'role' is not allowed here"),
    ('r="8"', 'r="calc(8)"', "calc", r"r='calc\(8\)' is not allowed"),
    ('"#d13b2e"', '"url(#a)"', "url", r"fill='url\(#a\)' is not allowed"),
    ('"#d13b2e"', '"red"', "red", "fill='red' is not allowed"),
    ("rotate(5 20 20)", "scale(0.5)", "scale", r"transform='scale\(0\.5\)' is not allowed"),
    ('d="M4', 'd="url(M4', "url", "is not allowed: plain numbers"),
    ('font-size="14"', 'font-size="12"', "font-size", "letters of 12 px; nothing below 14 is read on a phone"),
    ('viewBox="0 0 320 60"', 'viewBox="0 0 640 60"', "viewBox", "viewBox='0 0 640 60' is not allowed"),
    (' viewBox="0 0 320 60"', "", "<svg", "svg needs viewBox"),
    (' role="img"', "", "<svg", "svg needs role"),
    (' xmlns="http://www.w3.org/2000/svg"', "", "<svg", "svg needs xmlns"),
    ("2000/svg", "1999/xhtml", "xhtml", "xmlns='http://www.w3.org/1999/xhtml' is not allowed"),
    ("<title>Where the lamp is</title>\n", "", "<svg", "a picture needs a title"),
    ("<desc>At the top left of the housing.</desc>", "<desc> </desc>", "<svg", "a picture needs a desc"),
    ("</g>", "</a>", "</a>", "not an SVG: mismatched tag"),
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c[1][:30] or f"no {c[0][:20]}")
def test_one_thing_wrong_gives_one_problem_there(case: Case) -> None:
    old, new, mark, says = case
    files, name = changed(old, new)
    (problem,) = problems(files)
    assert re.search(says, problem.says), problem
    assert (problem.file, problem.line) == (name, line_of(files[name], mark)), problem


@pytest.mark.parametrize(
    ("before", "says"),
    [
        ('<?xml version="1.0"?>', "an XML declaration is not allowed"),
        ("<!DOCTYPE svg>", "a DOCTYPE is not allowed"),
        ('<!DOCTYPE svg [<!ENTITY a "b"><!ENTITY c "&a;&a;&a;">]>', "a DOCTYPE is not allowed"),
    ],
)
def test_nothing_stands_before_the_drawing(before: str, says: str) -> None:
    (problem,) = picture_problems(before + GOOD.replace("Where", "&c;" if "ENTITY" in before else "Where"), NAME)
    assert problem.says.startswith(says) and problem.line == 1


def test_entities_are_only_those_of_xml() -> None:
    (problem,) = picture_problems(GOOD.replace("Where", "&lt;b&gt; &nbsp;"), NAME)
    assert problem.says == "not an SVG: undefined entity"
    assert picture_problems(GOOD.replace("Where", "&lt;b&gt;"), NAME) == []


@pytest.mark.parametrize(("extra", "count"), [(-1, 0), (0, 1)])
def test_size(extra: int, count: int) -> None:
    filled = GOOD.replace("At the top", "x" * (MAX_BYTES - len(GOOD) + extra) + "At the top"[10:])
    filled += " " * (MAX_BYTES + extra - len(filled))
    assert len(filled.encode()) == MAX_BYTES + extra
    assert len(picture_problems(filled, NAME)) == count


def test_text_that_is_no_xml_at_all() -> None:
    for text in ("", "<", "plain words", "\0"):
        (problem,) = picture_problems(text, NAME)
        assert problem.says.startswith("not an SVG: ")


def test_picture_that_no_check_shows() -> None:
    (problem,) = problems({**FILES, "pictures/other.svg": GOOD})
    assert str(problem).startswith("pictures/other.svg:1:1: no check shows the picture 'other'")


def test_picture_that_is_not_there() -> None:
    """Two problems: the name leads nowhere, and the picture that was meant is now shown by no check."""
    files, name = changed("picture: lamp_place", "picture: lamp_places")
    missing, unused = problems(files)
    assert (missing.file, missing.line) == (name, line_of(files[name], "lamp_places"))
    assert missing.says == "picture 'lamp_places' is not defined" and unused.file == NAME


def test_damaged_picture_is_one_problem_and_not_a_missing_one() -> None:
    (problem,) = problems({**FILES, NAME: GOOD[:-8]})
    assert problem.file == NAME


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_and_white_is_21() -> None:
    """WCAG 2.2 names 21:1 as the largest ratio."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


def colours() -> Iterator[tuple[str, str]]:
    for name, text in knowledge().pictures.items():
        for colour in set(re.findall(r"#[0-9a-f]{6}", text)):
            yield name, colour


def test_shipped_colours_stand_out_on_light_and_dark_ground() -> None:
    """WCAG 2.2, 1.4.11: graphics need 3:1; words are in the page's own colour."""
    found = list(colours())
    assert found
    for name, colour in found:
        assert min(contrast(colour, "#ffffff"), contrast(colour, "#121212")) >= 3.0, (name, colour)
    for name, text in knowledge().pictures.items():
        assert not re.search(r"<text[^>]*fill", text), name


def test_shipped_pictures_are_shown_by_many_checks() -> None:
    kb = knowledge()
    assert len(kb.pictures) >= 14 and all(f'viewBox="0 0 {WIDTH} ' in text for text in kb.pictures.values())
    assert sum(bool(check.picture) for check in kb.checks.values()) >= 100
