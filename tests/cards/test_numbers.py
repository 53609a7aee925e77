"""Numbers of unfinished branches: there and back, and refused when they are not right."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.cards.grow import Grower, Node, walk
from diagnose.cards.numbers import SIGNS, CardNumberError, events_of, number_of, open_leaf
from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session.session import conclude, replay
from tests import shipped
from tests.cards.made import SAMPLE, followed, grown, small, small_grower


@pytest.mark.parametrize(("complaint", "kind"), SAMPLE[::2])
def test_there_and_back(complaint: str, kind: str) -> None:
    grower, plan, _ = grown(complaint, kind)
    nodes = list(walk(plan.root))
    for node in (nodes[0], nodes[len(nodes) // 2], nodes[-1]):
        opened = open_leaf(shipped.quick(), number_of(grower, node, plan.root))
        assert (opened.setup, opened.complaint) == (grower.setup, complaint)
        assert opened.answers == node.threads[0].answers


def test_the_visit_it_opens_goes_on_where_the_card_ended() -> None:
    grower, plan, card = grown(*SAMPLE[0])
    marks = [line.mark for step in card.steps for line in step.lines if line.aim == "call"]
    assert marks
    for mark in marks[-3:]:
        opened = open_leaf(shipped.quick(), mark)
        events = events_of(opened, grower.kb.digest, "a site", "id")
        asked = conclude(shipped.reasoner(), replay(grower.kb, events)).next.check
        assert asked in {n.check for n in walk(plan.root)}
        assert asked not in {a.check for a in opened.answers} or asked == grower.kb.settings.made_safe_check


def test_every_printed_number_is_its_own() -> None:
    _, plan, _ = grown(*SAMPLE[0])
    grower = grown(*SAMPLE[0])[0]
    nodes = list(walk(plan.root))
    assert len({number_of(grower, n, plan.root) for n in nodes}) == len(nodes)


def any_number() -> tuple[KnowledgeBase, str]:
    kb = small()
    grower = small_grower(kb)
    node = grower.root()
    for _ in range(4):
        node = followed(grower, node)
    return kb, number_of(grower, node, root_of(grower, node))


def root_of(grower: Grower, node: Node) -> Node:
    root = grower.root()
    here = root
    for branch in node.path:
        here = next(b.node for b in grower.look(here) if b.node and b.node.path[-1] == branch)
    return root


def test_every_single_wrong_sign_is_refused() -> None:
    kb, number = any_number()
    reasoner = Reasoner(kb)
    assert open_leaf(reasoner, number).answers
    for place, sign in enumerate(number):
        for other in SIGNS if sign in SIGNS else "":
            if other != sign:
                with pytest.raises(CardNumberError, match="read it again"):
                    open_leaf(reasoner, number[:place] + other + number[place + 1 :])


def test_swapped_neighbours_are_refused() -> None:
    kb, number = any_number()
    signs = number.replace("-", "")
    for place in range(len(signs) - 1):
        a, b = signs[place], signs[place + 1]
        if a != b and {a, b} != {"0", "Z"}:  # the one swap that Luhn's sum cannot tell
            with pytest.raises(CardNumberError):
                open_leaf(Reasoner(kb), signs[:place] + b + a + signs[place + 2 :])


def test_as_people_type_it() -> None:
    kb, number = any_number()
    answers = open_leaf(Reasoner(kb), number).answers
    spoken = number.lower().replace("-", " ").replace("0", "o").replace("1", "l")
    assert open_leaf(Reasoner(kb), f"  {spoken} ").answers == answers


def test_number_of_older_knowledge_is_refused_and_says_so() -> None:
    kb, number = any_number()
    with pytest.raises(CardNumberError, match="other knowledge"):
        open_leaf(Reasoner(replace(kb, digest="another")), number)


def test_number_needs_the_profile_it_was_printed_with() -> None:
    kb = small()
    profile = {"site.supply_v": 24.0}
    grower = Grower(Reasoner(kb), Setup(profile=profile), "stuck")
    number = number_of(grower, grower.root(), grower.root())
    assert open_leaf(Reasoner(kb), number, profile).setup.profile == profile
    with pytest.raises(CardNumberError, match="profile"):
        open_leaf(Reasoner(kb), number)


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60) | st.text(SIGNS + "- ", max_size=60))
def test_whatever_is_typed_is_answered_or_refused(typed: str) -> None:
    try:
        open_leaf(Reasoner(small()), typed)
    except CardNumberError as error:
        assert "\x1b" not in str(error)


def test_questions_the_card_leaves_open_are_asked() -> None:
    kb = small()
    grower = small_grower(kb)
    both = followed(grower, followed(grower, grower.root()))
    root = root_of(grower, both)
    assert open_leaf(Reasoner(kb), number_of(grower, both, root)).ask == ("gate",)
