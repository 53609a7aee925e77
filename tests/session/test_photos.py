"""Pictures attached to a visit: what each belongs to, what becomes of it when that is taken back, and the limit."""

import pytest

from diagnose.core.reason import Conclusion
from diagnose.errors import SessionError
from diagnose.model.gear import Device
from diagnose.model.visit import Setup
from diagnose.session.events import (
    AnotherFault,
    AskOn,
    Back,
    Begin,
    Close,
    Conclude,
    Event,
    Named,
    Pictured,
    Proved,
    Repaired,
    Reply,
    TakeOver,
)
from diagnose.session.law import may_follow
from diagnose.session.photos import MOST, at_hand, shown
from diagnose.session.session import conclude, replay, salvage, step
from diagnose.session.state import Photo
from tests.session.test_ending import visit
from tests.session.test_law import KB, PICTURE, REASONER, UNLICENSED
from tests.shipped import knowledge

LOOKED = Reply("free_look", "yes")
OF_LOOK = Pictured(PICTURE, "answer", "free_look", "mud on the window")
MENDED = (Repaired("dirt"), Proved(True))


def left(*events: Event) -> list[str]:
    """What the pictures that are still shown belong to."""
    return [p.of for p in shown(visit(*events))]


def test_a_picture_is_kept_with_its_words_and_whoever_has_the_visit() -> None:
    session = visit(LOOKED, OF_LOOK, by="Ana")
    assert session.photos == (Photo(PICTURE, "answer", "free_look", "yes", "mud on the window", "Ana"),)


def test_a_picture_changes_no_belief() -> None:
    def of(*events: Event) -> Conclusion:
        return conclude(REASONER, visit(*events))

    with_it, without = of(LOOKED, OF_LOOK, Pictured(PICTURE, "remedy", "wire")), of(LOOKED)
    assert with_it.belief.ranked() == without.belief.ranked() and with_it.next == without.next
    asked_on = visit(LOOKED, Conclude(), AskOn(), OF_LOOK)
    assert asked_on.insist and not asked_on.concluded  # nor where the visit stands


@pytest.mark.parametrize(
    ("since", "there"),
    [
        ((), True),
        ((Reply("gap", "no"),), True),
        ((Reply("free_look", "yes", by="Ben"),), True),  # confirmed
        ((Reply("free_look", "no"),), False),  # corrected
        ((Reply("free_look", "no"), Reply("free_look", "yes")), True),
        ((Back(),), False),
        ((Back(), LOOKED), True),
        ((Repaired("dirt"), Proved(False), Reply("free_look", "no")), True),  # so it was before the repair
        ((Repaired("dirt"), Back()), True),
        ((Close("left_out", "no part"), TakeOver(Setup())), True),
    ],
)
def test_a_picture_goes_with_its_answer(since: tuple[Event, ...], there: bool) -> None:
    assert bool(left(LOOKED, OF_LOOK, *since)) is there
    assert len(visit(LOOKED, OF_LOOK, *since).photos) == 1  # nothing is forgotten


def test_a_picture_of_a_proof_goes_with_its_repair_and_one_of_the_visit_stays() -> None:
    proof, remedy = Pictured(PICTURE, "proof", "dirt"), Pictured(PICTURE, "remedy", "wire")
    taken = (Repaired("dirt"), proof, remedy, Pictured(PICTURE, "visit"))
    assert left(*taken) == ["proof", "remedy", "visit"]
    assert left(*taken, Back()) == ["remedy", "visit"]
    assert left(*taken, Proved(True), AnotherFault()) == ["proof", "remedy", "visit"]


def test_the_same_picture_of_the_same_thing_counts_once() -> None:
    assert len(visit(LOOKED, OF_LOOK, OF_LOOK).photos) == 1
    assert len(visit(LOOKED, OF_LOOK, Pictured(PICTURE, "visit")).photos) == 2


@pytest.mark.parametrize("name", ["", "../x.jpg", "0123456789ABCDEF.jpg", PICTURE + "\n", "/" + PICTURE, "x" * 300])
def test_a_name_that_is_none_of_ours_is_refused(name: str) -> None:
    with pytest.raises(SessionError, match="not what a picture"):
        visit(Pictured(name, "visit"))


@pytest.mark.parametrize(
    ("of", "which"),
    [("visit", "dirt"), ("answer", "free_look"), ("answer", ""), ("remedy", "x"), ("proof", "dirt"), ("joy", "")],
)
def test_a_picture_of_nothing_is_refused(of: str, which: str) -> None:
    with pytest.raises(SessionError, match="belongs to the visit"):
        visit(Pictured(PICTURE, of, which))


def test_a_visit_holds_so_many_and_says_so() -> None:
    full = visit(*(Pictured(f"{n:016x}.jpg", "visit") for n in range(MOST)))
    with pytest.raises(SessionError, match=f"{MOST} pictures"):
        step(KB, full, Pictured(PICTURE, "visit"))
    assert "pictures" in may_follow(KB, full)["pictured"] and not may_follow(KB, visit())["pictured"]


def test_where_a_picture_belongs_when_nobody_says() -> None:
    def here(*events: Event) -> tuple[str, str]:
        return at_hand(visit(*events), "wire")

    assert here() == ("visit", "")
    assert here(LOOKED, Reply("gap", "no")) == ("answer", "gap")
    assert here(LOOKED, Conclude()) == ("remedy", "wire")
    assert here(LOOKED, Repaired("dirt")) == here(LOOKED, *MENDED) == ("proof", "dirt")
    assert here(*MENDED, AnotherFault(), LOOKED) == ("answer", "free_look")
    assert here(Close("left_out", "no part")) == ("visit", "")


def test_a_picture_follows_its_device_to_another_name() -> None:
    kb, name = knowledge(), "lamp_clear"
    answer, picture = Reply(name, "detecting"), Pictured(PICTURE, "answer", name)
    began = Begin(Setup(devices=("laser",)), "ghost_opening")
    named = Named((Device("left", "laser"), Device("right", "laser")), {"": "left"})
    (photo,) = shown(replay(kb, [began, answer, picture, named]))
    assert photo.which == "lamp_clear@left"


def test_what_does_not_fit_is_left_out_of_an_old_file_and_told() -> None:
    events: list[Event] = [Begin(UNLICENSED, "stuck"), LOOKED, OF_LOOK, Pictured("../../etc/passwd", "visit")]
    session, told = salvage(KB, events)
    assert [p.name for p in session.photos] == [PICTURE] and len(told) == 1
