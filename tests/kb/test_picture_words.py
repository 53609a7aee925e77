"""Pictures are read aloud and labelled: their words can be said in another language."""

from xml.etree import ElementTree

from diagnose.kb.languages import texts_of, translated
from diagnose.kb.picture_words import with_words, words_in
from tests.shipped import knowledge

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg"><title>A &amp; B</title>'
    '<g><text x="1">gate</text><text>12</text></g></svg>'
)


def test_words_are_found_and_numbers_are_none() -> None:
    assert words_in(SVG) == ("A & B", "gate")


def test_other_words_stay_text() -> None:
    changed = with_words(SVG, ("C < D", "<script>"))
    assert words_in(changed) == ("C < D", "<script>")
    assert [e.tag for e in ElementTree.fromstring(changed).iter()] == [
        e.tag for e in ElementTree.fromstring(SVG).iter()
    ]


def test_every_picture_is_translated_with_the_knowledge() -> None:
    texts = {key: text.upper() for key, text in texts_of(knowledge()).items() if key.startswith("pictures.")}
    pictures = translated(knowledge(), texts).pictures
    assert len(pictures) > 10
    for name, picture in pictures.items():
        assert words_in(picture) and words_in(picture) == tuple(
            w.upper() for w in words_in(knowledge().pictures[name])
        )
