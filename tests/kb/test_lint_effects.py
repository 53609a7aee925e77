"""Every lint over the signal chain, each on a chain with exactly one thing wrong."""

import re

import pytest

from tests.kb.minimal import FILES, line_of, problems

CHAIN = """\
links: {supply: {says: supply}, output: {says: output contact}}
effects:
  unpowered:
    link: supply
    says: no supply
    shows: {lamp: {out: certain}}
    brings: {held: certain}
    hides: [output]
    complaints: {stuck: often}
    source: src
  held:
    link: output
    says: held
    calculated:
      fact: extra
      gives: {first: {released: certain}, second: {}}
      unknown: {first: 2, second: 1}
    source: src
  released:
    link: output
    says: released
    shows: {volts: {low: 0.4}}
    blocks: [supply]
    source: src
causes:
  plug_out:
    says: the plug is out
    explain: it is out
    family: wiring
    common: common
    one_of:
      all: {share: 0.8, brings: {unpowered: certain}}
      some: {share: 0.2, brings: {held: probable}}
    test: look
    remedy: {steps: [put it in], minutes: 1}
    proof: it is in 3 times
    source: src
"""
GOOD = {**FILES, "chain.yaml": CHAIN}

CASES = [
    ("link: supply", "link: suply", "link: suply", "link 'suply' is not defined"),
    ("hides: [output]", "hides: [outpt]", "outpt", "link 'outpt' is not defined"),
    ("stuck: often}\n    source: src", "stuck: often}\n    source: srcc", "srcc", "source 'srcc' is not defined"),
    ("{stuck: often}", "{stck: often}", "stck", "complaint 'stck' is not defined"),
    ("{stuck: often}", "{stuck: oftn}", "oftn", "complaint word 'oftn' is not defined"),
    ("brings: {held: certain}", "brings: {hold: certain}", "hold:", "effect 'hold' is not defined"),
    ("brings: {held: certain}", "brings: {held: sure}", "held: sure", "strength word 'sure' is not in scales"),
    ("brings: {held: certain}", "brings: {held: 1.0}", "held: 1.0", r"strength 1\.0: use a number strictly"),
    ("fact: extra", "fact: extr", "fact: extr", "fact 'extr' is not defined"),
    ("second: {}}", "third: {}, second: {}}", "third", "value 'third' is not defined"),
    ("second: 1}", "third: 1}", "unknown:", "value under 'gives' 'third' is not defined"),
    ("second: 1}", "second: 0}", "unknown:", "say how often each value is the case"),
    ("lamp: {out: certain}", "lmp: {out: certain}", "lmp", "finding 'lmp' is not defined"),
    ("lamp: {out: certain}", "lamp: {ut: certain}", "lamp: {ut", "state 'ut' must be one of: dim, out"),
    ("says: held\n", "says: held\n    brings: {unpowered: certain}\n", "^  held", "'unpowered' lies before 'output'"),
    ("says: released\n", "says: released\n    brings: {held: certain}\n", "^  held", "'held' brings itself"),
    ("brings: {held: probable}", "brings: {hold: probable}", "hold:", "effect 'hold' is not defined"),
    ("share: 0.2", "share: 0", "some:", "a share must be above 0"),
    ("      some: {share: 0.2, brings: {held: probable}}\n", "", "one_of:", "one of one: say it under 'brings'"),
    ("    complaints: {stuck: often}\n", "", "^  plug_out", "nobody would notice this cause"),
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c[1][:40])
def test_one_thing_wrong_on_the_chain_gives_a_problem_there(case: tuple[str, str, str, str]) -> None:
    old, new, mark, says = case
    assert CHAIN.count(old) == 1
    bad = CHAIN.replace(old, new)
    found = problems({**FILES, "chain.yaml": bad})
    assert any(re.search(says, p.says) and p.line == line_of(bad, mark) for p in found), found
    assert all(p.file == "chain.yaml" for p in found), found


RESTS = "says: no supply\n    rests: 0.6\n    proved: 'rain|wet'\n"
IN_RAIN = CHAIN.replace("says: no supply\n", RESTS).replace("3 times", "3 times in rain")


@pytest.mark.parametrize(
    ("old", "new", "mark", "says"),
    [
        ("in rain", "in sun", "proof:", r"brings 'unpowered', which is often not there.*rain\|wet"),
        ("    proved: 'rain|wet'\n", "", "^  unpowered", "say in 'proved' by which words"),
        ("'rain|wet'", "'rain|('", "proved:", r"rain\|\("),
    ],
)
def test_a_proof_names_the_occasion_of_what_is_often_not_there(old: str, new: str, mark: str, says: str) -> None:
    assert IN_RAIN.count(old) == 1 and problems({**FILES, "chain.yaml": IN_RAIN}) == []
    bad = IN_RAIN.replace(old, new)
    found = problems({**FILES, "chain.yaml": bad})
    assert [(p.line, bool(re.search(says, p.says))) for p in found] == [(line_of(bad, mark), True)]


def test_the_occasion_is_owed_through_an_effect_that_another_brings() -> None:
    resting = "says: released\n    rests: 0.6\n    proved: 'rain|wet'\n"
    bad = CHAIN.replace("says: released\n", resting)
    found = problems({**FILES, "chain.yaml": bad})
    assert [p.line for p in found] == [line_of(bad, "proof:")]


def test_a_good_chain_is_fine() -> None:
    assert problems(GOOD) == []


def test_a_cause_with_too_many_ways_is_refused() -> None:
    one = "  e{i}: {{link: supply, says: e, shows: {{lamp: {{out: 0.5}}}}, source: src}}\n"
    many = "".join(one.format(i=i) for i in range(4))
    all_uncertain = "{" + ", ".join(f"e{i}: 0.5" for i in range(4)) + "}"
    bad = CHAIN.replace("effects:\n", f"effects:\n{many}").replace("{unpowered: certain}}", f"{all_uncertain}}}")
    assert any("it can show itself in" in p.says for p in problems({**FILES, "chain.yaml": bad}))
