"""Cards for the tests, each made once: of the shipped knowledge, and of a small one built in memory."""

from functools import cache, cached_property, partial

from diagnose.cards.card import Card
from diagnose.cards.compose import Composer
from diagnose.cards.grow import Grower, Node, walk
from diagnose.cards.plan import Plan, fill
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Role, Setup
from diagnose.report.card_page import fits
from tests import shipped
from tests.build import cause, check, knowledge, rule

DATED = "2026-11-25"
SAMPLE = (("ghost_opening", "laser"), ("hits_vehicle", "laser"), ("dead_indicators", "loop"))
Who = tuple[Role, bool]
TECHNICIAN: Who = ("technician", False)
HELP_DESK: Who = ("help_desk", False)


def grown(
    complaint: str, kind: str, paper: str = "a4", pages: int = 2, who: Who = TECHNICIAN
) -> tuple[Grower, Plan, Card]:
    return _kept(complaint, kind, paper, pages, who)


@cache
def _kept(complaint: str, kind: str, paper: str, pages: int, who: Who) -> tuple[Grower, Plan, Card]:
    return printed(_rooted(complaint, kind, who), paper, pages)


@cache
def _rooted(complaint: str, kind: str, who: Who) -> Grower:
    return Rooted(shipped.quick(), _setup(kind, who), complaint)


def _setup(kind: str, who: Who) -> Setup:
    return Setup(who[0], who[1], None, (kind,))


class Rooted(Grower):
    """The cards it grows, for any paper, hang on one tree."""

    def root(self) -> Node:
        return self._root

    @cached_property
    def _root(self) -> Node:
        return super().root()


def grown_anew(complaint: str, kind: str, paper: str, pages: int) -> tuple[Grower, Plan, Card]:
    """Not kept: a tree holds some 200 MB."""
    return printed(Grower(shipped.quick(), _setup(kind, TECHNICIAN), complaint), paper, pages)


def printed(grower: Grower, paper: str = "a4", pages: int = 2) -> tuple[Grower, Plan, Card]:
    composer = Composer(grower, DATED)
    plan = fill(grower, lambda p: fits(composer.card(p), paper, pages))
    return grower, plan, composer.card(plan)


def looked_at(plan: Plan) -> list[Node]:
    """Every node below which branches were worked out."""
    return [node for node in walk(plan.root) if node.branches]


def small() -> KnowledgeBase:
    """Two sensor kinds of gate, four causes, one unscored question that one check hangs on, one stop-work answer."""
    causes = [
        cause(
            "dirt", {"window": {"dirty": 0.9}, "wipe": {"cured": 0.85}}, minutes=5.0, complaints={"stuck": "often"}
        ),
        cause("wire", {"volts": {"low": 0.9}, "tug": {"loose": 0.8}}, minutes=20.0, complaints={"stuck": "typical"}),
        cause("arm", {"arm_look": {"bent": 0.9}}, minutes=40.0, complaints={"stuck": "often"}),
        cause("something_else", {}, minutes=60.0),
    ]
    checks = [
        check("touched", (), {}, options={"nobody": "nobody", "somebody": "somebody"}),
        check("gate", (), {}, options={"arm": "an arm", "leaf": "a leaf"}),
        check("window", ("clean", "dirty"), {"dirty": 0.05}),
        check("wipe", ("same", "cured"), {"cured": 0.02}, minutes=3.0),
        check("volts", ("good", "low"), {"low": 0.03}, minutes=4.0, access="box", cautions=("stop",)),
        check("tug", ("tight", "loose"), {"loose": 0.04}, minutes=2.0, access="box"),
        check("arm_look", ("straight", "bent"), {"bent": 0.03}, minutes=9.0, only_if={"gate": ("arm",)}),
    ]
    rules = [rule("hit", {"touched": ["somebody"]}, stop_work="stop")]
    return knowledge(
        causes, checks, rules, complaints=("stuck", "slow"), opening=("touched", "gate"), access={"box": 5.0}
    )


def small_grower(kb: KnowledgeBase) -> Grower:
    return Grower(Reasoner(kb, partial(fixpoint, kb)), Setup(), "stuck")


def followed(grower: Grower, node: Node, value: str = "") -> Node:
    """The node behind the branch with this value, or behind the first branch."""
    after = next(b.node for b in grower.look(node) if not value or value in b.values)
    assert after
    return after
