"""What the page hears in a person's words, and its stemmer, against the Python ones."""

import random
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

import pytest
import snowballstemmer  # type: ignore[import-untyped]
from playwright.sync_api import Page

from diagnose.cases.read import case_files, read_all, shipped_cases
from diagnose.hear.reader import Listener
from diagnose.hear.text import stem
from diagnose.kb.files import shipped_folder
from diagnose.model.heard import COMPLAINT, DANGER, Hearing
from diagnose.model.knowledge import KnowledgeBase
from diagnose.pack.build import payload
from tests.pack.states import TOLERANCE
from tests.shipped import knowledge

STEMS = "(words) => words.map(gateDiagnose.porterStem)"
HEAR = """([heard, texts]) => {
  const { kb, hear } = gateDiagnose;
  const asked = heard.map((h) => [h.id, { ...h, options: new Map(h.options), lists: new Map(h.lists) }]);
  const listening = asked.length ? { ...kb, heard: new Map(asked) } : kb;
  return texts.map((text) => hear(listening, text));
}"""
PORTER = """
caresses caress, ponies poni, ties ti, caress caress, cats cat, feed feed, plastered plaster, bled bled, motoring
motor, sing sing, sized size, hopping hop, tanned tan, falling fall, hissing hiss, fizzed fizz, failing fail,
filing file, happy happi, sky sky, digitizer digit, hopefulness hope, goodness good, hopeful hope, formative form,
revival reviv, allowance allow, inference infer, airliner airlin, adjustable adjust, defensible defens, irritant
irrit, replacement replac, adjustment adjust, dependent depend, adoption adopt, communism commun, activate activ,
effective effect, probate probat, rate rate, cease ceas, controlling control, roll roll, relational relat,
conditional condit, rational ration, generalizations gener, oscillators oscil, connect connect, connected connect,
connecting connect, connection connect, connections connect
"""  # M. F. Porter, "An algorithm for suffix stripping", Program 14(3), 1980, after all its steps
SUFFIXES = (
    "s", "es", "sses", "ies", "ss", "ed", "eed", "ing", "at", "bl", "iz", "tt", "ll", "y", "ational", "tional",
    "enci", "anci", "izer", "abli", "alli", "entli", "eli", "ousli", "ization", "ation", "ator", "alism",
    "iveness", "fulness", "ousness", "aliti", "iviti", "biliti", "icate", "ative", "alize", "iciti", "ical",
    "ful", "ness", "al", "ance", "ence", "er", "ic", "able", "ible", "ant", "ement", "ment", "ent", "sion",
    "tion", "ion", "ou", "ism", "ate", "iti", "ous", "ive", "ize", "e", "le",
)  # fmt: skip
SIGNS = ("...", "..", "&", ">>")
AROUND = (
    "not", "never", "doesn't", "doesn\u2019t", "can't", "cannot", "won't", "n't", "'", ",", ", ", "?", "!", ".", ";",
    "\n", "when", "in", "but", "if", "would", "i think", "maybe", "the", "it", "THE", "12.5", "17:30", "4m2", "...",
    "\u0130", "\u0130\u0130", "\u1e9e", "\u212a", "\u017f", "\u00e9t\u00e9", "\u03a3\u03a3", "\U0001f697",
    "\U0001f469\u200d\U0001f527", "\u0627\u0644\u0628\u0648\u0627\u0628\u0629", "\u05e9\u05e2\u05e8", "\u202e",
    "\u95e8", "e\u0301", "\u2028", "\x85", "\x1c", "\ud800",
)  # fmt: skip


@pytest.mark.parametrize("pair", [pair.split() for pair in PORTER.split(",")], ids=lambda p: p[0])
def test_a_published_word_has_its_published_stem_in_both(tab: Page, pair: Sequence[str]) -> None:
    word, meant = pair
    assert [stem(word), *tab.evaluate(STEMS, [word])] == [meant, meant]


def test_every_word_of_the_knowledge_and_the_cases_has_the_same_stem(tab: Page) -> None:
    files = shipped_folder("knowledge").rglob("*.yaml")
    words = sorted({w for f in files for w in re.findall(r"[a-z]+|[0-9]+[a-z]*", f.read_text("utf-8").lower())})
    assert len(words) > 5000
    same_stems(tab, words)


def test_any_letters_have_the_same_stem(tab: Page) -> None:
    rng = random.Random(1980)
    same_stems(tab, [letters(rng) for _ in range(30_000)])


def letters(rng: random.Random) -> str:
    """Few different letters and up to three suffixes, so that the rules meet."""
    few = rng.choice(("aeiouybcdt", "yayeb", "abcdefghijklmnopqrstuvwxyz", "slte"))
    return "".join([*rng.choices(few, k=rng.randint(0, 6)), *rng.choices(SUFFIXES, k=rng.randint(0, 3))])


def same_stems(tab: Page, words: Sequence[str]) -> None:
    reference = snowballstemmer.stemmer("porter").stemWords(words)
    there = tab.evaluate(STEMS, words)
    assert [(w, b) for w, a, b in zip(words, reference, there, strict=True) if a != b] == []


def test_the_complaints_of_the_field_cases_are_heard_the_same(tab: Page) -> None:
    texts = [f.case.complaint for f in read_all(case_files(shipped_cases())) if f.case]
    assert len(texts) > 20
    assert same_hearing(tab, knowledge(), texts) > 0


def test_words_of_the_phrases_in_any_order_are_heard_the_same(tab: Page) -> None:
    rng = random.Random(7)
    kb = knowledge()
    assert same_hearing(tab, kb, [spoken(rng, phrases(kb)) for _ in range(500)]) > 150


def test_any_phrases_are_heard_the_same(tab: Page) -> None:
    """Phrases that nobody would write, many of them sharing words, for checks, the complaint and the dangers."""
    for seed in range(5):
        rng = random.Random(seed)
        kb = replace(knowledge(), heard=invented(rng))
        texts = [spoken(rng, phrases(kb) + silencing(kb)) for _ in range(400)]
        assert same_hearing(tab, kb, texts, carry=True) > 200


def invented(rng: random.Random) -> Mapping[str, Hearing]:
    """Few words, some of them one letter from another; they stand in the list, and silence phrases, too."""
    few = rng.sample(sorted({w for p in phrases(knowledge()) for w in re.findall("[a-z]{3,}", p)}), 10)
    few += [word + "x" for word in few[:2]]

    def some(most: int) -> tuple[str, ...]:
        return tuple(rng.sample(few, rng.randint(0, most)))

    def phrase() -> str:
        words = (*few, "$list", "$rain", "#")
        parts = ["|".join(rng.sample(words, rng.choice((1, 1, 2)))) for _ in range(rng.randint(1, 3))]
        parts += rng.choice(([], [], ["@miss"]))
        return rng.choice((" ", " ", " ... ", " .. ", " & ", " & ", " >> ", " not ")).join(parts)

    def hearing(name: str) -> Hearing:
        options = {o: tuple(phrase() for _ in range(rng.randint(1, 5))) for o in ("a", "b", "c")}
        lists = {"list": ("gate", *some(2))}
        away, settled, mere = (*some(1), rng.choice(few)[:-1] + "z"), some(1), some(2)
        return Hearing(
            id=name,
            options=options,
            lists=lists,
            elsewhere=away,
            settled=settled,
            mere=mere,
            amid=rng.choice(((), (), tuple(few))),
            never_amid=rng.choice(((), (), tuple(few[-1:]))),
            source="judgement",
        )

    return {name: hearing(name) for name in (COMPLAINT, "one", "two", "three", DANGER)}


def phrases(kb: KnowledgeBase) -> list[str]:
    """With the words of a list instead of its name, and a turn of phrase instead of its."""
    texts = [(h, text) for h in kb.heard.values() for texts in h.options.values() for text in texts]
    return [listed({**kb.speech.lists, **h.lists}, turned(kb.speech.ways, text)) for h, text in texts]


def silencing(kb: KnowledgeBase) -> list[str]:
    words = [word for h in kb.heard.values() for word in (*h.elsewhere, *h.settled, *h.mere, *h.amid, *h.never_amid)]
    return [*words, *kb.speech.unreal[:4]]


def turned(ways: Mapping[str, Sequence[str]], text: str) -> str:
    return re.sub(r"@(\w+)", lambda name: ways[name[1]][len(text) % len(ways[name[1]])], text)


def listed(lists: Mapping[str, Sequence[str]], text: str) -> str:
    """No longer than a few words of each list."""
    while "$" in text:
        text = re.sub(r"\$(\w+)", lambda name: "|".join(lists[name[1]][:8]), text)
    return text


def spoken(rng: random.Random, said: Sequence[str]) -> str:
    """Some phrases, or only words of them, with other words around them and with slips of a letter."""
    words = [word for _ in range(rng.randint(1, 4)) for word in rng.choice(said).split() if word not in SIGNS]
    if rng.random() < 0.3:
        rng.shuffle(words)
    parts = [slipped(rng, rng.choice(word.split("|")).replace("#", "14.30")) for word in words]
    for _ in range(rng.randint(0, 5)):
        parts.insert(rng.randint(0, len(parts)), rng.choice(AROUND))
    return "".join(part + rng.choice((" ", " ", " ", " ", "", ", ")) for part in parts)


def slipped(rng: random.Random, word: str) -> str:
    """Mostly as it is; else a letter is missing, doubled, other, in capitals, or changed about with the next."""
    k, kind = rng.randrange(len(word)), rng.randrange(12)
    kinds = (
        word[:k] + word[k + 1 :],
        word[:k] + word[k] + word[k:],
        word[:k] + "x" + word[k + 1 :],
        word[:k] + word[k].upper() + word[k + 1 :],
        word[:k] + word[k : k + 2][::-1] + word[k + 2 :],
    )
    return kinds[kind] if kind < len(kinds) else word


def same_hearing(tab: Page, kb: KnowledgeBase, texts: Sequence[str], carry: bool = False) -> int:
    """In how many of the texts something is heard, by both alike. `carry`: with the phrases of `kb` in the page."""
    heard = [carried(each) for each in kb.heard.values()] if carry else []
    reader = Listener(kb)
    here = [plain(asdict(reader.read(text))) for text in texts]
    there = tab.evaluate(HEAR, [heard, list(texts)])
    assert [(t, a, b) for t, a, b in zip(texts, here, there, strict=True) if not alike(a, b)] == []
    return sum(any(each.values()) for each in here)


def carried(hearing: Hearing) -> dict[str, Any]:
    return {name: list(v.items()) if isinstance(v, dict) else v for name, v in asdict(hearing).items()}


def plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: plain(inner) for name, inner in value.items()}
    return [plain(inner) for inner in value] if isinstance(value, list | tuple) else value


def alike(a: Any, b: Any) -> bool:
    if isinstance(a, dict):
        return bool(a.keys() == b.keys() and all(alike(a[k], b[k]) for k in a))
    if isinstance(a, list):
        return len(a) == len(b) and all(map(alike, a, b))
    return abs(a - b) <= TOLERANCE if isinstance(a, float) else bool(a == b)


@pytest.mark.parametrize("ahead", ["\u0130stanbul! ", "\U0001f697\U0001f697 ", "\u05e9\u05e2\u05e8 ", "n't. "])
def test_a_place_in_the_text_counts_characters_whatever_stands_ahead(tab: Page, ahead: str) -> None:
    """A small letter of a dotted capital I is two characters, an emoji two code units."""
    kb = replace(knowledge(), heard={"one": Hearing(id="one", options={"a": ("gate opens",)}, source="judgement")})
    (fact,) = Listener(kb).read(f"{ahead}gate opens").facts
    assert f"{ahead}gate opens"[fact.start : fact.end] == "gate opens"
    assert same_hearing(tab, kb, [f"{ahead}gate opens"], carry=True) == 1


def test_a_cut_hears_no_answer_of_a_check_that_it_does_not_hold() -> None:
    kb = knowledge()
    of_laser = next(c.id for c in kb.checks.values() if c.devices == ("laser",))
    added = Hearing(id=of_laser, options={"yes": ("gate opens",)}, source="judgement")
    kb = replace(kb, heard={**kb.heard, of_laser: added})
    held = {of: [name for name, _ in payload(kb, [of])["knowledge"]["heard"]] for of in ("laser", "loop")}
    assert of_laser in held["laser"] and of_laser not in held["loop"]
    assert {COMPLAINT, DANGER} <= set(held["loop"])
