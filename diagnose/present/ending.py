"""How a visit may end, what is asked for each way, and how it ended."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.checklist import open_items
from diagnose.session.closing import ENDS, RECEIVERS
from diagnose.session.law import asked, endings, needed, provable
from diagnose.session.state import SERVING, Ended, Session
from diagnose.session.wording import ending_says
from diagnose.words import say

OWN_WORDS = ("reason", "by")  # asked in other words for each way to end


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing to say for an end: its name in the event, the question, what there is to choose from, if anything."""

    name: str
    says: str
    needed: bool
    options: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class WayToEnd:
    """One way to end. `refused`: why not now, or ''; `prove`: lines of the checklist are to be proved first."""

    outcome: str
    says: str
    refused: str
    prove: bool
    asked: tuple[Asked, ...]

    @property
    def offered(self) -> bool:
        return self.prove or not self.refused


@dataclass(frozen=True, slots=True)
class Ending:
    """How the visit ended; `facts` are (label, what was said); `tag` and `still_open` where the gate stays out of
    service; `sheet`: somebody goes there."""

    outcome: str
    says: str
    facts: tuple[tuple[str, str], ...]
    tag: str
    still_open: tuple[str, ...]
    serving: bool
    sheet: bool


def ways_to_end(kb: KnowledgeBase, session: Session) -> tuple[WayToEnd, ...]:
    """Every way to end, the possible ones and the others."""
    refused = endings(kb, session)
    return tuple(
        WayToEnd(end, say(f"present.end_{end}"), refused[end], provable(kb, session, end), _asked(session, end))
        for end in ENDS
    )


def _asked(session: Session, end: str) -> tuple[Asked, ...]:
    must = needed(end)
    return tuple(
        Asked(name, _asks(name, end), name in must, _receivers() if name == "to" else {})
        for name in asked(session, end)
    )


def _asks(name: str, end: str) -> str:
    return say(f"present.ask_{name}_{end}" if name in OWN_WORDS else f"present.ask_{name}")


def _receivers() -> dict[str, str]:
    return {who: say(f"present.to_{who}") for who in RECEIVERS}


def ending_of(kb: KnowledgeBase, session: Session) -> Ending:
    """How the visit ended."""
    end = session.end
    out, serving = end.outcome == "left_out", end.outcome in SERVING
    return Ending(
        outcome=end.outcome,
        says=ending_says(end.outcome),
        facts=facts_of(end),
        tag=say("present.out_of_service_tag", reason=end.reason) if out else "",
        still_open=() if serving else tuple(item.says for item in open_items(kb, session)),
        serving=serving,
        sheet=end.outcome in ("dispatched", "passed_on"),
    )


def facts_of(end: Ended) -> tuple[tuple[str, str], ...]:
    """What was said when it ended: (label, what)."""
    given = {"to": _receivers().get(end.to, ""), "reason": end.reason, "due": end.due, "meanwhile": end.meanwhile}
    proves = "proves" if end.outcome == "proof_owed" else "by"
    said = {**given, proves: end.by}
    return tuple((say(f"present.end_fact_{name}"), text) for name, text in said.items() if text)
