"""Work that can hurt is known by its words: a step without its caution is seen, and no caller is asked to do it."""

from dataclasses import replace

import pytest

from diagnose.kb.lint_dangers import asked, licensed, references, told
from diagnose.kb.safety import safety_of
from diagnose.kb.weaker import weakened
from diagnose.model.knowledge import KnowledgeBase
from tests.kb.weakenings import changed, remedied
from tests.shipped import knowledge

PLAIN = "push_button_stuck"  # a cause whose remedy carries none of the cautions below
LOOK = "opn_remotes_home"  # a check for callers
STEPS = {  # common practice, no source: how a step of each kind is worded in the field
    "mains": "Measure live to neutral at the supply's input.",
    "bridging": "Bridge the input for a minute and watch the gate.",
    "height": "Set a ladder against the post and wipe the window.",
    "stored_motion": "Loosen the barrier spring by two turns.",
    "capacitor": "Take the motor capacitor off and measure it.",
    "insulation_test": "Test the loop to earth with 500 V.",
    "manual_release": "Release the gate and push it by hand.",
    "hydraulics": "Loosen the hydraulic hose at the ram.",
    "battery": "Put the meter on the battery terminals.",
    "digging": "Dig along the cable until the joint is found.",
    "road_saw": "Cut a new loop beside the old one.",
}


def harmless(kb: KnowledgeBase) -> KnowledgeBase:
    """The shipped knowledge with a remedy that carries no caution and opens nothing."""
    bare = replace(kb.causes[PLAIN].remedy, steps=("Press the button and let it go.",), cautions=(), access="")
    return changed(kb, "causes", PLAIN, remedy=bare, cautions=())


def test_the_shipped_knowledge_has_every_caution_its_words_ask_for() -> None:
    kb = knowledge()
    assert set(STEPS) == {d.id for d in kb.dangers.values() if d.cautions and not d.callers_only}
    assert not [*references(kb), *told(kb), *asked(kb), *licensed(kb), *told(harmless(kb))]


@pytest.mark.parametrize("danger", STEPS)
def test_a_dangerous_step_without_its_caution_is_seen(danger: str) -> None:
    kb = harmless(knowledge())
    wrong = remedied(kb, PLAIN, steps=("Press the button and let it go.", STEPS[danger]))
    (path, says), *others = told(wrong)
    assert path == ("causes", PLAIN, "remedy") and f"'{danger}'" in says and not others
    for caution in kb.dangers[danger].cautions:
        assert not list(told(remedied(wrong, PLAIN, cautions=(caution,))))
    assert not list(told(remedied(wrong, PLAIN, who="electrician")))


@pytest.mark.parametrize(
    "step",
    [
        "Measure at the mains terminals.",
        "Renew the mains fuse.",
        "Tighten the neutral.",
        "Measure live to neutral, 230 V.",
        "Open the cover of the mains.",
    ],
)
def test_work_on_mains_is_the_electricians_whatever_access_it_names(step: str) -> None:
    """EN 50110-1 as restated publicly: work on or near live parts above extra-low voltage is for skilled persons."""
    wrong = remedied(harmless(knowledge()), PLAIN, steps=(step,), cautions=("mains_licensed",))
    assert [path for path, _ in licensed(wrong)] == [("causes", PLAIN, "remedy", "who")]
    assert not list(licensed(remedied(wrong, PLAIN, who="electrician")))
    asked_of = changed(knowledge(), "checks", LOOK, help=step)
    assert [path for path, _ in licensed(asked_of)] == [("checks", LOOK, "who")]


def test_the_mains_as_a_safe_state_may_be_named_by_everybody() -> None:
    safe = remedied(knowledge(), PLAIN, steps=("Keep the mains cover on.", "Isolate upstream of the mains."))
    assert not list(licensed(safe))


@pytest.mark.parametrize("danger", [d for d in STEPS if knowledge().dangers[d].never_for_callers])
def test_no_caller_is_asked_to_do_it(danger: str) -> None:
    wrong = changed(knowledge(), "checks", LOOK, ask_caller=f"Could you do this for me? {STEPS[danger]}")
    assert [path for path, _ in asked(wrong)] == [("checks", LOOK, "ask_caller")]


def test_an_entry_is_spared_by_name_alone() -> None:
    kb = remedied(harmless(knowledge()), PLAIN, steps=(STEPS["height"],))
    height = kb.dangers["height"]
    spared = changed(kb, "dangers", "height", spared={**height.spared, PLAIN: "the ladder stands there already"})
    assert list(told(kb)) and not list(told(spared))


def test_a_pattern_that_is_none_and_an_unknown_name_are_problems() -> None:
    kb = changed(knowledge(), "dangers", "height", words="(", cautions=("no_such",), spared={"nobody": "x"})
    assert [path[2] for path, _ in references(kb)] == ["cautions", "spared", "words"]
    assert not list(told(kb))


@pytest.mark.parametrize("danger", STEPS)
def test_a_danger_that_is_made_weaker_is_seen_by_the_register(danger: str) -> None:
    kb = knowledge()
    was, entry = safety_of(kb), kb.dangers[danger]
    weaker = [
        replace(kb, dangers={d: v for d, v in kb.dangers.items() if d != danger}),
        changed(kb, "dangers", danger, words=entry.words + "x"),
        changed(kb, "dangers", danger, cautions=(*entry.cautions, "moving_gate")),
        changed(kb, "dangers", danger, spared={**entry.spared, PLAIN: "no reason"}),
    ]
    if entry.never_for_callers:
        weaker.append(changed(kb, "dangers", danger, never_for_callers=False))
    for change in weaker:
        assert [where for where, _ in weakened(was, safety_of(change))] == [f"dangers.{danger}"]
    stricter = changed(kb, "dangers", danger, spared={}, never_for_callers=True)
    assert not list(weakened(was, safety_of(stricter)))
