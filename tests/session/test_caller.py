"""What a caller did himself: noted as his where the knowledge gives it to callers, and never under an order."""

from diagnose.session import events as e
from diagnose.session.law import doers, refusal
from diagnose.session.session import salvage, step
from tests.session.test_law import CALL, KB, LICENSED, UNLICENSED, visit

FAILED = (e.Repaired("wire", by="technician"), e.Proved(False))


def test_what_the_caller_may_do_is_noted_as_his_and_nothing_else_is() -> None:
    call = visit(setup=CALL)
    assert doers(KB, call, "web") == ("caller", "technician")
    assert visit(e.Repaired("web", by="caller"), setup=CALL).repairs[-1].by == "caller"
    keys = {c: no.key for c in KB.causes if (no := refusal(KB, call, e.Repaired(c, by="caller")))}
    assert keys == dict.fromkeys(("dirt", "wire", "fuse", "something_else"), "not_by_caller")
    there = [refusal(KB, visit(setup=s), e.Repaired("web", by="caller")) for s in (UNLICENSED, LICENSED)]
    assert [no and no.key for no in there] == ["caller_on_phone"] * 2


def test_under_a_stop_work_order_a_caller_does_nothing() -> None:
    """Confirmed or not, and after a repair that failed as well."""
    ordered = e.Reply("gap", "yes")
    for events in ([ordered], [ordered, e.Reply("made_safe", "safe")], [ordered, *FAILED]):
        stopped_call = visit(*events, setup=CALL)
        no = refusal(KB, stopped_call, e.Repaired("web", by="caller"))
        assert no and no.key == "caller_stopped"
        assert "caller" not in doers(KB, stopped_call, "web")


def test_what_a_caller_mended_at_a_protective_function_is_closed_only_with_whoever_proves_it() -> None:
    done = visit(e.Repaired("web", by="caller"), e.Proved(True, "it shuts"), setup=CALL)
    no = refusal(KB, done, e.Close("solved_on_phone"))
    assert no and no.key == "protection_owed"
    owed = e.Close("proof_owed", by="Kim", due="2026-12-03", meanwhile="off at its switch")
    assert step(KB, done, owed).outcome == "proof_owed"


def test_what_a_caller_did_stays_in_a_file_whatever_is_refused_today() -> None:
    events = (e.Begin(CALL, "stuck"), e.Reply("gap", "yes"), e.Repaired("web", by="caller"), e.Proved(True))
    session, told = salvage(KB, events)
    assert [(r.cause, r.by, r.proof) for r in session.repairs] == [("web", "caller", "passed")]
    assert told and "the caller does nothing" in told[0]
