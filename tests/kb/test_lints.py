"""Every lint, each on a knowledge base with exactly one thing wrong: that problem, at that line, and no other."""

import re

import pytest

from tests.kb.minimal import FILES, changed, line_of, problems

# what the good text says -> what the bad text says; a pattern for the line blamed; a pattern for the message
Case = tuple[str, str, str, str]

CAUSES: list[Case] = [
    ("{stuck: often}", "{jammed: often}", "jammed", "complaint 'jammed' is not defined"),
    ("{stuck: often}", "{stuck: oftn}", "oftn", "complaint word 'oftn' is not defined"),
    ("common\n    complaints: {stuck", "comon\n    complaints: {stuck", "comon", "frequency word 'comon' is not"),
    ("family: wiring", "family: wirring", "wirring", "family 'wirring' is not defined"),
    ("[loop]\n    common", "[lop]\n    common", "lop]", "kind or trait of sensor 'lop' is not defined"),
    ("it holds twice\n    source: src", "it holds twice\n    source: srcc", "srcc", "source 'srcc' is not defined"),
    ("proof: it holds twice", "proof: it holds twice\n    cautions: [nope]", "nope", "caution 'nope' is not defined"),
    ("it holds twice", "it holds twice\n    inseparable_from: {nope: so}", "nope", "cause 'nope' is not defined"),
    ("10, access: box", "10, access: bx", "access: bx", "access group 'bx' is not defined"),
    ("box, tools: [meter]", "box, tools: [metre]", "metre", "tool 'metre' is not defined"),
    ("cautions: [moving], touches", "cautions: [nope], touches", "nope", "caution 'nope' is not defined"),
    ("touches: [supply]", "touches: [nope]", "nope", "proof 'nope' is not defined"),
    ("steps: [tighten it]", "steps: []", r"steps: \[\]", "a remedy needs steps"),
    ("proof: it holds twice", "proof: ' '", "^  loose:$", "a cause needs a proof"),
    ("proof: it holds twice", "proof: it holds", "proof: it holds", "a proof without a number is passed by a short"),
    ("signs: {lamp: {out: 0.2}}", "signs: {}", r"signs: \{\}", "no check can tell this cause from others"),
    ("volts: {low: 0.4}", "vlts: {low: 0.4}", "vlts", "finding 'vlts' is not defined"),
    ("volts: {low: 0.4}", "volts: {lw: 0.4}", "lw:", "state 'lw' must be one of: low"),
    ("volts: {low: 0.4}", "volts: {good: 0.4}", "good: 0.4", "state 'good' must be one of: low"),
    ("out: probable", "out: probabel", "probabel", "strength word 'probabel' is not in scales.strength"),
    ("volts: {low: 0.4}", "volts: {low: 0.0}", "low: 0.0}", r"strength 0\.0: use a number strictly between 0 and 1"),
    ("lamp: {out: 0.2}", "lamp: {dim: 0.6, out: 0.4}", "dim: 0.6", r"strengths add up to 1\.000; leave something"),
    ("leak: {low: 0.02}", "leak: {lw: 0.02}", "lw:", "state 'lw' must be one of: low"),
    ("signs: {lamp: {out: 0.2}}", "signs: {volts: {low: 0.4}, lamp: {out: probable}}", r"signs: \{volts",
     "same signs as 'loose': no check separates them"),
]  # fmt: skip

CALLERS: list[Case] = [
    ("meanwhile: [keep out of its way], ", "", "says: it is stuck", "needs 'meanwhile'"),
    ("meanwhile: [everybody keeps away], ", "", "halt: ", "needs 'meanwhile'"),
    ("caller_before: moving", "caller_before: nope", "nope", "caution 'nope' is not defined"),
    ("caller_after: moving", "caller_after: ''", "caller_after", "name what is said to a caller before and after"),
    ("[Sweep the leaves away.]", "[]", "caller: {steps", "what a caller does needs steps, minutes above 0"),
    ("minutes: 3, proof", "minutes: 3, hands_near: false, proof", "hands_near", "'Sweep' brings hands near the gate"),
    ("minutes: 3, proof", "minutes: 3, cautions: [nope], proof", "nope", "caution 'nope' is not defined"),
    ("Sweep the leaves away.", "Sweep the loop feeder.", "Sweep", "'loop feeder' is trade jargon"),
]  # fmt: skip

CHECKS: list[Case] = [
    ("box\n    tools", "bx\n    tools", "access: bx", "access group 'bx' is not defined"),
    ("[meter]\n    devices", "[metre]\n    devices", "metre", "tool 'metre' is not defined"),
    ("[loop]\n    needs", "[lop]\n    needs", "lop]", "kind or trait of sensor 'lop' is not defined"),
    ("traits: [buried]", "traits: [dug]", "dug", "trait 'dug' is not defined"),
    ("traits: {buried:", "traits: {loop: a kind, buried:", "^traits", "'loop' is a kind of sensor already"),
    ("the small light on", "the loop feeder on", "ask_caller", "'loop feeder' is trade jargon"),
    ("[made_safe, extra]", "[made_safe, extra, nope]", "nope", "check 'nope' is not defined"),
    ("[moving]\n    hazard", "[nope]\n    hazard", "nope", "caution 'nope' is not defined"),
    ("locked: true\n    source: src", "locked: true\n    source: srcc", "srcc", "source 'srcc' is not defined"),
    ("the box, minutes: 5, cautions: [moving]", "the box, minutes: 5, cautions: [nope]", "nope",
     "caution 'nope' is not defined"),
    ("electrician, minutes: 5, cautions: [moving], source: src}", "electrician, minutes: 5, source: srcc}", "srcc",
     "source 'srcc' is not defined"),
    ("keep clear, source: src", "keep clear, source: srcc", "srcc", "source 'srcc' is not defined"),
    ("opening: [made_safe]", "opening: [nope]", "nope", "check 'nope' is not defined"),
    ("outside_cause: other", "outside_cause: nope", "nope", "cause 'nope' is not defined"),
    ("vague: [lit]", "vague: [lot]", "when: lamp", "answer 'lot' is not defined"),
    ("no_pattern: first", "no_pattern: frst", "when: lamp", "answer 'frst' is not defined"),
    ("{check: extra, stays", "{check: lamp, stays", "outlasts_rain", "answer 'first' is not defined"),
    ("when: out, compared", "when: owt, compared", "when: owt", "answer 'owt' is not defined"),
    ("compared: first, causes", "compared: frst, causes", "frst", "answer 'frst' is not defined"),
    ("causes: [other]}", "causes: [othr]}", "othr]", "cause 'othr' is not defined"),
    ("designed_cause: other", "designed_cause: nope", "nope", "cause 'nope' is not defined"),
    ("{link: wiring,", "{link: wirring,", "wirring", "link 'wirring' is not defined"),
    ("{says: measure it again}", "{says: it, after_caution: {nope: so}}", "nope", "caution 'nope' is not defined"),
    ("{says: measure it again}", "{says: it, never_waved_after: [moving]}", "never_waved",
     "stop-work caution 'moving' is not defined"),
    ("{says: measure it again}", "{says: it, when: {lamp: out}}", "lamp: out", "fact 'lamp' is never established"),
    ("{says: measure it again}", "{says: it, when: {fitted.loop: yes}}", "fitted", "'fitted.loop' is never 'yes'"),
    ("{says: measure it again}", "{says: ' '}", "says: ' '", "say how it is proved"),
    ("{first: one, second: two}", "{first: one}", "first: one", "a choice needs at least two options"),
    ("    unit: V\n", "", "^  volts:$", "a quantity needs unit, plausible and hard"),
    ("plausible: [0, 40]", "plausible: [0, 500]", "500", "plausible must lie within hard"),
    ("plausible: [0, 40]", "plausible: [40, 0]", "40, 0", "plausible must lie within hard"),
    ("good: whole", "good: ' '", "^  wire:$", "say what a good and a bad result look like"),
    ("minutes: 2\n", "minutes: 0\n", "minutes: 0$", "minutes must be above 0"),
    ("    ask_caller: Is the small light on?\n", "", "^  lamp:$", "needs ask_caller and who: caller"),
    ("    who: caller\n", "", "ask_caller", "needs ask_caller and who: caller"),
    ("small light on?\n    stand: beside the lane\n", "lamp? Look.\n", "^  lamp:$", "a look needs 'stand'"),
    ("who: caller", "who: caller\n    tools: [meter]", "who:", "a caller has no tools and opens nothing"),
    ("Is the small light on?", "Is the relay lit?", "relay", "'relay' is trade jargon"),
    ("locked: true", "locked: true\n    hazard: true", "^  wire:$", "a hazardous step needs a caution"),
    ("box\n    tools", "mains_compartment\n    tools", "^  volts:$", "'mains_compartment' is for the electrician"),
    ("only_if: {made_safe: yes}", "only_if: {nope: yes}", "nope", "fact 'nope' is never established"),
    ("only_if: {made_safe: yes}", "only_if: {volts: yes}", "only_if", "'volts' is a number; compare it"),
    ("only_if: {made_safe: yes}", "only_if: {made_safe: maybe}", "maybe", "never 'maybe'; possible: no, yes"),
    ("fact: volts_verdict", "fact: nope", "nope", "fact 'nope' is never established"),
    ("low: [below]", "low: [below, belw]", "belw", "'volts_verdict' is never 'belw'"),
    ("look\n    good: either", "look\n    runs_gate: true\n    good: either", "needs:", "'extra' runs the gate"),
    (", unlock: [wire]", "", "locked: true", "locked, but no rule unlocks it"),
    ("[made_safe, extra]", "[made_safe]", "^  extra:$", "unreachable"),
]  # fmt: skip

RULES: list[Case] = [
    ("when: {lamp: out", "when: {lmp: out", "lmp", "fact 'lmp' is never established"),
    ("when: {lamp: out", "when: {lamp: off", "lamp: off", "'lamp' is never 'off'; possible: dim, lit, out"),
    ("unlock: [wire]}\n    source: src", "unlock: [wire]}\n    source: srcc", "srcc", "source 'srcc' is not defined"),
    ("rules:\n", "rules:\n  bare: {says: x, when: {}, then: {caution: [moving]}, source: src}\n", "bare",
     "a rule needs at least one condition"),
    ("exclude: [other]", "exclude: [nope]", "nope", "cause 'nope' is not defined"),
    ("caution: [moving]", "caution: [nope]", "nope", "caution 'nope' is not defined"),
    ("unlock: [wire]", "unlock: [wire, nope]", "nope", "check 'nope' is not defined"),
    ("unlock: [wire]", "unlock: [wire], settle: {nope: yes}", "nope", "check 'nope' is not defined"),
    ("unlock: [wire]", "unlock: [wire], settle: {wire: maybe}", "maybe", "'maybe' is not an answer of 'wire'"),
    ("unlock: [wire]", "unlock: [wire], contradiction: {says: odd, recheck: [nope]}", "nope", "check 'nope' is not"),
    ("derive: {dead: yes}", "derive: {dead: yes, extra: first}", "extra: first", "'extra' is a check or calculation"),
    ("stop_work: halt", "stop_work: moving", "stop_work: moving", "not a caution with stop_work: true"),
    ("stop_work: halt", "stop_work: nope", "nope", "'nope' is not a caution with stop_work: true"),
    ("{stop_work: halt, caution: [moving], exclude: [other]}", "{}", r"then: \{\}", "the rule does nothing"),
    ("{low: 20, high: 30}\n    source: src", "{low: 20, high: 30}\n    source: srcc", "srcc", "source 'srcc' is not"),
    ("inputs: {value: volts}", "inputs: {value: vlts}", "vlts", "fact 'vlts' is not defined"),
    ("{low: 20, high: 30}", "{low: 20, hgh: 30}", "inputs:", "parameter 'hgh' is not defined"),
]  # fmt: skip

NUMBERS: list[Case] = [
    ("two_fault_odds: 0.1", "two_fault_odds: 0", "two_fault", "two_fault_odds is 0; it must be above 0"),
    ("specialist_minutes: 240", "specialist_minutes: 0", "specialist", "specialist_minutes is 0; it must be above 0"),
    ("unsure_slip: 0.2", "unsure_slip: 0.6", "unsure", r"unsure_slip is 0\.6; it must be between 0 and 0\.5"),
    ("  slip: 0.02", "  slip: 0", "^  slip", r"slip is 0; it must be between 0 and 0\.5"),
    ("conclude_at: 0.9", "conclude_at: 1", "conclude_at", "conclude_at is 1; it must be between 0 and 1"),
    ("complaint_floor: 0.08", "complaint_floor: 0", "floor", "complaint_floor is 0; it must be above 0"),
    ("{common: 5}", "{common: 5, never: 0}", "never", "never is 0; it must be above 0"),
    ("complaint: {often: 4}", "complaint: {often: -1}", "often", "often is -1; it must be above 0"),
    ("certain: 0.995", "certain: 1", "certain", "certain is 1; it must be between 0 and 1"),
    ("[tighten it], minutes: 10", "[tighten it], minutes: 0", "tighten", "minutes is 0; it must be above 0"),
    ("conclude_at: 0.9\n  source: src", "conclude_at: 0.9\n  source: srcc", "srcc", "source 'srcc' is not defined"),
    ("scales:\n  source: src", "scales:\n  source: srcc", "srcc", "source 'srcc' is not defined"),
    ("[it is stuck], source: src", "[it is stuck], source: srcc", "srcc", "source 'srcc' is not defined"),
    ("fact: volts_verdict", "fact: volts_verdict\n      source: srcc", "srcc", "source 'srcc' is not defined"),
]  # fmt: skip


@pytest.mark.parametrize("case", [*CAUSES, *CALLERS, *CHECKS, *RULES, *NUMBERS], ids=lambda c: c[1][:40])
def test_one_thing_wrong_gives_one_problem_there(case: Case) -> None:
    old, new, mark, says = case
    files, name = changed(old, new)
    (problem,) = problems(files)
    assert re.search(says, problem.says), problem
    assert (problem.file, problem.line) == (name, line_of(files[name], mark)), problem


def test_minimal_knowledge_is_fine() -> None:
    """Else the cases above would prove nothing."""
    assert problems(FILES) == []


CHECK = """checks:
  more:
    {ask: "?", help: h, good: g, bad: b, kind: yes_no, minutes: 1, source: src, finding: %s}
"""


def added(finding: str) -> list[str]:
    return [p.says for p in problems({**FILES, "more.yaml": CHECK % finding})]


def test_evidence_counted_twice() -> None:
    """`dead` is derived from the lamp and the volts, which are scored already."""
    found = added("{fact: dead, states: {a: 'yes', b: 'yes'}, leak: {b: 0.1}}")
    assert [re.findall(r"'(\w+)'", says) for says in found] == [["lamp", "lamp"], ["volts_verdict", "volts"]]


@pytest.mark.parametrize(("states", "count"), [("{}", 0), ("[only]", 1)])
def test_finding_with_too_few_states(states: str, count: int) -> None:
    """Reported, where an empty list of states once stopped the check itself."""
    found = added(f"{{fact: complaint, states: {states}, leak: {{}}}}")
    assert "a finding needs at least two states" in found and len(found) == 1 + count


def test_an_opening_check_does_not_run_the_gate() -> None:
    files = {
        k: v.replace("look\n    good: safe", "look\n    runs_gate: true\n    good: safe") for k, v in FILES.items()
    }
    found = [p.says for p in problems(files)]
    assert "an opening check comes before the gate is known to be safe" in found and len(found) == 2


def test_a_rule_may_settle_that_a_check_is_not_worth_asking() -> None:
    assert problems(changed("unlock: [wire]", "unlock: [wire], settle: {extra: skip}")[0]) == []


def test_unknown_calculator() -> None:
    files, name = changed("calculator: within", "calculator: witin")
    found = problems(files)
    assert [p for p in found if p.line == line_of(files[name], "witin") and "unknown; known: " in p.says]


def test_missing_parameter() -> None:
    found = {p.says for p in problems(changed("inputs: {value: volts}", "inputs: {valu: volts}")[0])}
    assert found == {"parameter 'valu' is not defined", "parameter 'value' is required"}


def test_a_reading_in_another_unit_than_its_calculator_takes() -> None:
    mistaken = "calculator: edge_resistance\n    inputs: {measured: volts}\n    constants: {}"
    files, name = changed(
        "calculator: within\n    inputs: {value: volts}\n    constants: {low: 20, high: 30}", mistaken
    )
    found = [p for p in problems(files) if p.says == "'volts' is in V, 'measured' is in ohm"]
    assert [p.line for p in found] == [line_of(files[name], "measured: volts")]


def test_alike_causes_may_say_so() -> None:
    alike = "signs: {lamp: {out: probable}, volts: {low: 0.4}}"
    files, _ = changed("signs: {lamp: {out: 0.2}}", f"{alike}\n    inseparable_from: {{loose: nothing shows}}")
    assert problems(files) == []


def test_cover_with_a_caution_covers_the_checks_behind_it() -> None:
    assert problems(changed("    cautions: [moving]\n    hazard", "    hazard")[0]) == []


def test_several_mistakes_are_reported_together_in_order() -> None:
    files, name = changed("family: wiring", "family: wirring")
    files[name] = files[name].replace("fact: volts_verdict", "fact: nope").replace("good: whole", "good: ' '")
    found = problems(files)
    assert len(found) == 3 and [p.line for p in found] == sorted(p.line for p in found)
