"""What a caller does himself stays harmless, and what holds until somebody comes is always said."""

from dataclasses import replace
from typing import Any

import pytest

from diagnose.kb.lint_callers import around, complete, hands, harmless, meanwhile, plain, references
from diagnose.kb.safety import safety_of
from diagnose.kb.weaker import weakened
from diagnose.model.knowledge import CallerRemedy, KnowledgeBase
from tests.kb.test_dangers import STEPS
from tests.kb.weakenings import changed
from tests.shipped import knowledge

NEAR, AWAY = "debris_in_area", "hold_open_programme"
NONE = "input_terminal_failed"  # nothing that a caller can do
FORBIDDEN = {  # what no step for a caller may say, by the danger that knows it
    **STEPS,
    "mains_work": "Renew the mains fuse.",
    "caller_opens": "Then open the cover and look.",
    "caller_measures": "Measure whether it is still alive.",
    "caller_distribution": "Put the breaker back in.",
    "caller_moves_leaf": "Push the gate shut.",
    "caller_in_path": "Reach in under it with your hand.",
    "caller_plug_back": "Put the plug back.",
}


def caller(kb: KnowledgeBase, cause: str, **fields: Any) -> KnowledgeBase:
    """The knowledge with another remedy for whoever calls."""
    own = kb.causes[cause].caller or CallerRemedy(steps=("Look.",), minutes=1, proof="It runs.")
    return changed(kb, "causes", cause, caller=replace(own, **fields))


def test_the_shipped_knowledge_passes_and_has_what_callers_can_do() -> None:
    kb = knowledge()
    for lint in (references, complete, around, hands, harmless, plain, meanwhile):
        assert list(lint(kb)) == []
    assert set(FORBIDDEN) == set(kb.dangers)
    assert 25 <= sum(cause.caller is not None for cause in kb.causes.values()) <= 90


@pytest.mark.parametrize("danger", FORBIDDEN)
@pytest.mark.parametrize("cause", [NEAR, AWAY])
def test_no_word_of_danger_stands_in_a_step_or_a_proof_of_a_caller(danger: str, cause: str) -> None:
    kb = knowledge()
    own = kb.causes[cause].caller
    assert own
    for wrong in ({"steps": (*own.steps, FORBIDDEN[danger])}, {"proof": FORBIDDEN[danger]}):
        found = list(harmless(caller(kb, cause, **wrong)))
        assert ("causes", cause, "caller", "steps") in [path for path, _ in found]
        assert any(f"'{danger}'" in says for _, says in found)


def test_only_a_plug_is_allowed_and_only_with_its_caution() -> None:
    kb = knowledge()
    allowed = {d.id for d in kb.dangers.values() if d.callers_only and d.cautions}
    assert allowed == {"caller_plug_back"}
    told = caller(kb, AWAY, steps=(FORBIDDEN["caller_plug_back"],), cautions=("caller_plug",))
    assert not list(harmless(told))
    says = kb.cautions["caller_plug"].says
    assert "dry" in says and "cracked" in says and "Never a breaker" in says


def test_no_danger_of_all_work_is_allowed_to_a_caller_by_its_caution() -> None:
    kb = knowledge()
    for danger in STEPS:
        told = caller(kb, NEAR, steps=(STEPS[danger],), cautions=kb.dangers[danger].cautions)
        assert any(f"'{danger}'" in says for _, says in harmless(told)), danger


@pytest.mark.parametrize("step", ["Wipe the window.", "Sweep the lane.", "Take it away.", "Use both hands."])
def test_hands_near_the_gate_cannot_be_left_unmarked(step: str) -> None:
    wrong = caller(knowledge(), AWAY, steps=(step,))
    assert [path for path, _ in hands(wrong)] == [("causes", AWAY, "caller", "hands_near")]
    assert not list(hands(caller(wrong, AWAY, hands_near=True)))


@pytest.mark.parametrize("name", ["caller_before", "caller_after"])
def test_hands_near_the_gate_need_what_is_said_around_them(name: str) -> None:
    kb = knowledge()
    settings = kb.settings
    before = "" if name == "caller_before" else settings.caller_before
    after = "" if name == "caller_after" else settings.caller_after
    bare = replace(kb, settings=replace(settings, caller_before=before, caller_after=after))
    assert [path for path, _ in around(bare)] == [("settings", name)]
    says = kb.cautions[kb.settings.caller_before].says
    assert all(word in says for word in ("off at its own user switch", "out of its path", "somebody watch"))


def test_a_remedy_of_a_caller_has_steps_minutes_and_a_proof() -> None:
    kb = knowledge()
    for wrong in ({"steps": ()}, {"steps": (" ",)}, {"proof": ""}, {"minutes": 0}):
        assert [path for path, _ in complete(caller(kb, NEAR, **wrong))] == [("causes", NEAR, "caller")]


def test_a_caller_is_told_no_trade_word_and_no_unknown_caution() -> None:
    kb = knowledge()
    assert any("'polarity'" in says for _, says in plain(caller(kb, NEAR, steps=("Look at the polarity.",))))
    assert [p for p, _ in references(caller(kb, NEAR, cautions=("nope",)))] == [
        ("causes", NEAR, "caller", "cautions")
    ]
    wrong = replace(kb, settings=replace(kb.settings, caller_before="nope", caller_after="nope", meanwhile=("nope",)))
    assert [path[1] for path, _ in references(wrong)] == ["caller_before", "caller_after", "meanwhile"]


def test_every_complaint_and_every_order_says_what_holds_until_somebody_comes() -> None:
    kb = knowledge()
    for section in ("complaints", "cautions"):
        said = [e for e in getattr(kb, section).values() if e.meanwhile]
        orders = [c for c in kb.cautions.values() if c.stop_work]
        assert len(said) == len(kb.complaints if section == "complaints" else orders) > 7
        for entry in said:
            bare = changed(kb, section, entry.id, meanwhile=())
            assert [path for path, _ in meanwhile(bare)] == [(section, entry.id, "meanwhile")]


def test_no_interim_measure_orders_what_is_dangerous() -> None:
    kb = knowledge()
    wrong = changed(kb, "complaints", "stuck_open", meanwhile=("Push the gate shut.",))
    assert [path for path, _ in meanwhile(wrong)] == [("complaints", "stuck_open", "meanwhile")]
    right = changed(kb, "complaints", "stuck_open", meanwhile=("Nobody may push the gate shut.",))
    assert not list(meanwhile(right))


def test_the_register_sees_every_weakening_of_what_callers_are_told() -> None:
    kb = knowledge()
    own, was = kb.causes[NEAR].caller, safety_of(kb)
    assert own
    weaker = {
        "another step": caller(kb, NEAR, steps=(*own.steps, "Do it with the gate on.")),
        "not marked": caller(kb, NEAR, hands_near=False),
        "a caution less": caller(kb, "mains_lost", cautions=("mode_left_on_purpose",)),
        "a caller's remedy more": caller(kb, NONE, minutes=2),
        "no measures": changed(kb, "complaints", "ghost_opening", meanwhile=()),
        "none under an order": changed(kb, "cautions", "stop_may_fall", meanwhile=()),
        "nothing before": replace(kb, settings=replace(kb.settings, caller_before="")),
        "nothing afterwards": replace(kb, settings=replace(kb.settings, caller_after="")),
        "nothing for all": replace(kb, settings=replace(kb.settings, meanwhile=())),
        "a danger for callers alone": changed(kb, "dangers", "mains", callers_only=True),
        "another caution will do": changed(kb, "dangers", "caller_moves_leaf", cautions=("moving_gate",)),
    }
    for name, change in weaker.items():
        assert list(weakened(was, safety_of(change))), name
    assert not list(weakened(was, safety_of(changed(kb, "causes", NEAR, caller=None))))
