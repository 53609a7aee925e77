"""Every sentence that refuses an event, once; the offline page carries the same table."""

from collections.abc import Mapping
from dataclasses import dataclass

SENTENCES: Mapping[str, str] = {
    "begun": "the visit has begun already",
    "not_begun": "the visit has not begun",
    "owed": "the last repair has not been proved yet; say whether its proof passed first",
    "closed": "the visit is closed; 'back' opens it again",
    "no_proof_due": "no repair is waiting for its proof",
    "complaint": "unknown complaint {name}; known: {known}",
    "device": "unknown sensor kind {name}; known: {known}",
    "no_check": "there is no check {name}",
    "no_option": "{check}: {value} is not one of {known}",
    "no_reading": "{check}: {value} is not a number between {low} and {high}",
    "not_for_caller": "this check is not for a caller to do; 'don't know' takes its answer out",
    "not_licensed": "this check is for a licensed electrician; 'don't know' takes its answer out",
    "runs_gate": "a stop-work order stands, and for this check the gate runs; 'don't know' takes its answer out",
    "nothing_to_take_back": "there is no answer to take back",
    "nothing_left": "no check is left that this role can do here",
    "no_cause": "there is no cause {name}",
    "no_doer": "a remedy is carried out by whoever has the visit or by one of: {known}, not by {name}",
    "electrician_only": "this remedy is for a licensed electrician: one has to take the visit over first",
    "not_by_caller": "a caller does not carry out this remedy: say that a technician on site did, or send one",
    "nothing_proved_good": "a second fault is looked for once a repair was proved good",
    "no_item": "there is no checklist item {name}; known: {known}",
    "no_result": "a checklist item is pass, fail or na, not {name}",
    "no_reason_for_na": "'not applicable' on a protective function needs the reason",
    "ticked_from_afar": "only somebody at the gate can prove a line of the checklist",
    "no_ending": "a visit ends as {known}, not {name}",
    "no_reason": "say why, in a few words: it goes on the record and on the tag",
    "not_proved": "the repair of '{name}' has not been proved yet",
    "not_at_gate": "only somebody at the gate can put it back in service; end as solved_on_phone or dispatched",
    "still_open": "still open: {name} Prove it, or end as left_out with the reason",
    "not_on_phone": "solved_on_phone is for the help-desk",
    "order_stands": "a stop-work order stands: a technician must prove the gate safe; end as dispatched",
    "nothing_proved": "nothing was proved: have the remedy carried out and say what the proof showed",
    "no_prover": "the remedy touched a protective function: say who proves it with a test piece, and when",
}
LEFT_OUT = "Left out: {says}"
KEPT = "Kept, because it says what happened, though it would not be taken now: {says}"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an event is not allowed: the key of its sentence, and the sentence."""

    key: str
    says: str


def refused(key: str, **words: str) -> Refusal:
    return Refusal(key, SENTENCES[key].format(**words))


def in_full(key: str) -> str:
    """A sentence that needs no words, as a sentence of its own."""
    text = SENTENCES[key]
    return f"{text[0].upper()}{text[1:]}."
