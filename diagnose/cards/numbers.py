"""The number at the end of an unfinished branch, and the way back from it to the answers.

A number holds the complaint, the sensor kinds, the role and which branch was taken at every step; the live tool,
which always asks the same after the same answers, supplies the steps. Ten bits tell of the knowledge and the
profile it was made with, and a last sign catches what was misheard: Luhn's sum modulo 32 (ISO/IEC 7812 gives the
sum for base 10; the wider base is common practice) finds every single wrong sign and nearly every swap of
neighbours. Letters and digits are those of Crockford's base 32, so O and 0, I, L and 1 are the same.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from diagnose.cards.answers import ON_CARD
from diagnose.cards.grow import Grower, Node
from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Setup, Value
from diagnose.session.events import Begin, Event, Reply
from diagnose.words import say

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
BASE = len(SIGNS)
ALIKE = str.maketrans("OIL", "011")
SEAL = 1 << 10
GROUP = 4
SHORTEST, LONGEST = 4, 40  # signs
ROLES = (
    ("technician", False),
    ("technician", True),
    ("help_desk", False),
)  # role, electrician


class CardNumberError(DiagnoseError):
    """A card's number that cannot be opened; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class DecodedNumber:
    """What a number stands for. `ask`: checks whose answer the card could not carry, to be asked now."""

    setup: Setup
    complaint: str
    answers: tuple[Answer, ...]
    ask: tuple[str, ...]


def number_of(grower: Grower, node: Node, root: Node) -> str:
    """The number of a node that the tree below `root` reaches, in groups of four signs."""
    kb, value, here = grower.kb, 0, root
    digits: list[tuple[int, int]] = []  # (size, digit); 0 in place of a state means that the number ends there
    for state, place in node.path:
        states = grower.states(kb.checks[here.check])
        branches = [b for b in here.branches if b.state == states[state]]
        digits += [(len(states) + 1, state + 1), (len(branches), place)]
        here = cast(Node, branches[place].node)
    for size, digit in reversed(digits):
        value = value * size + digit
    for size, part in reversed(_head(kb, grower.setup, grower.complaint)):
        value = value * size + part
    signs = _signs(value)
    whole = signs + SIGNS[_check_sum(signs)]
    return "-".join(whole[i : i + GROUP] for i in range(0, len(whole), GROUP))


def open_leaf(reasoner: Reasoner, number: str, profile: Mapping[str, Value] | None = None) -> DecodedNumber:
    """The answers that a card's number stands for. `profile` as it was when the card was printed.

    Raises CardNumberError for a number that was misheard, or that comes from other knowledge or another profile.
    """
    kb, value = reasoner.kb, _value(number)
    value, seal = divmod(value, SEAL)
    if seal != _seal(kb, profile or {}):
        raise CardNumberError(say("card.other_knowledge", number=repr(number[:LONGEST]), digest=kb.digest[:8]))
    value, role = divmod(value, len(ROLES))
    value, kinds = divmod(value, 1 << len(kb.devices))
    value, complaint = divmod(value, len(kb.complaints))
    devices = tuple(d for i, d in enumerate(kb.devices) if kinds >> i & 1)
    setup = Setup(ROLES[role][0], ROLES[role][1], None, devices, dict(profile or {}))  # type: ignore[arg-type]
    grower = Grower(reasoner, setup, list(kb.complaints)[complaint])
    node = _followed(grower, value, number)
    return DecodedNumber(setup, grower.complaint, node.threads[0].answers, _open_questions(kb, node))


def events_of(opened: DecodedNumber, digest: str, site: str, visit: str) -> tuple[Event, ...]:
    """The events that open a visit with these answers; a reading is marked as standing for a band."""
    notes = dict.fromkeys(opened.ask, say("card.band"))
    replies = (Reply(a.check, a.value, a.sure, ON_CARD, notes.get(a.check, "")) for a in opened.answers)
    return Begin(opened.setup, opened.complaint, "", site, digest, visit), *replies


def _followed(grower: Grower, value: int, number: str) -> Node:
    """The node at the end of the branches that `value` counts off."""
    node = grower.root()
    while value:
        states = grower.states(grower.kb.checks[node.check]) if node.check else ()
        value, state = divmod(value, len(states) + 1)
        if not state:
            raise _misheard(number)
        branches = grower.of_state(node, state - 1)
        value, place = divmod(value, len(branches))
        after = branches[place].node
        if after is None:
            raise _misheard(number)
        node = after
    return node


def _open_questions(kb: KnowledgeBase, node: Node) -> tuple[str, ...]:
    """Checks on the way that the branch leaves open: several answers fit, or of a reading only the band is known.

    Always whether the gate is safe: 'safe' and 'made safe' share a line of the card, and only one is true.
    """
    said: dict[str, set[Value]] = {}
    for thread in node.threads:
        for answer in thread.answers:
            said.setdefault(answer.check, set()).add(answer.value)
    unsaid = {c for c, values in said.items() if len(values) > 1 or kb.checks[c].kind == "quantity"}
    return tuple(c for c in said if c in unsaid or c == kb.settings.made_safe_check)


def _head(kb: KnowledgeBase, setup: Setup, complaint: str) -> list[tuple[int, int]]:
    """(size, part) of everything before the branches, the first one lowest."""
    kinds = sum(1 << i for i, device in enumerate(kb.devices) if device in setup.devices)
    return [
        (SEAL, _seal(kb, setup.profile)),
        (len(ROLES), ROLES.index((setup.role, setup.electrician))),
        (1 << len(kb.devices), kinds),
        (len(kb.complaints), list(kb.complaints).index(complaint)),
    ]


def _seal(kb: KnowledgeBase, profile: Mapping[str, Value]) -> int:
    told = "\0".join([kb.digest, *(f"{name}={value}" for name, value in sorted(profile.items()))])
    return int.from_bytes(hashlib.sha256(told.encode()).digest()[:4], "big") % SEAL


def _signs(value: int) -> str:
    signs = ""
    while value or len(signs) < SHORTEST:
        value, digit = divmod(value, BASE)
        signs = SIGNS[digit] + signs
    return signs


def _value(number: str) -> int:
    """The number without its check sign."""
    typed = "".join(number.upper().replace("-", " ").split()).translate(ALIKE)
    if not SHORTEST < len(typed) <= LONGEST or set(typed) - set(SIGNS):
        raise _misheard(number)
    body, check = typed[:-1], typed[-1]
    if SIGNS[_check_sum(body)] != check:
        raise _misheard(number)
    value = 0
    for sign in body:
        value = value * BASE + SIGNS.index(sign)
    return value


def _check_sum(signs: str) -> int:
    """Luhn's sum modulo the base: every second sign doubled, its two digits added."""
    total = 0
    for place, sign in enumerate(reversed(signs)):
        digit = SIGNS.index(sign) * (2 - place % 2)
        total += digit // BASE + digit % BASE
    return -total % BASE


def _misheard(number: str) -> CardNumberError:
    return CardNumberError(say("card.misheard", number=repr(number[:LONGEST])))
