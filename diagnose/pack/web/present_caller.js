// A conclusion on the phone: what the caller does himself, who is sent with what, what holds meanwhile.

const MOST_THINGS = 4; // to bring; the sheet has them all
const LEAST_WANTED = 0.1;

// null where nobody is on the phone.
function forCaller(kb, session, conclusion, summary) {
  if (!onPhone(session)) return null;
  const own = hisOwn(session, conclusion, summary);
  const owed = unique(own.flatMap((r) => r.cause.remedy.touches)).map((t) => kb.proofs.get(t))
    .filter((proof) => proof.protective).map((proof) => proof.says);
  const [send, bring] = summary.designed ? ["", ""] : sentSays(kb, conclusion, own.length > 0 && !owed.length);
  return {
    own: own.map((r, n) => ownRemedy(kb, r, own.slice(0, n).some((before) => before.cause.caller.hands_near))),
    afterwards: owed,
    send,
    bring,
    meanwhile: meanwhileOf(kb, session, conclusion),
  };
}

// Who is sent, and with what; `onlyIf`: only where what the caller does is not enough.
function sentSays(kb, conclusion, onlyIf) {
  const causes = likelyCauses(conclusion);
  const who = say(`session.who_${needsElectrician(kb, causes) ? "electrician" : "technician"}`);
  const wanted = whatToBring(kb, causes, []).filter((b) => b.wanted >= LEAST_WANTED).map((b) => b.says);
  return [onlyIf ? say("present.send_if", { who }) : who, wanted.slice(0, MOST_THINGS).join("; ")];
}

// What makes hands near the gate safe is said in full once, and called to mind after that.
function ownRemedy(kb, { cause, probability }, again) {
  const words = { cause: cause.says, likely: likelySays(probability), minutes: minutesSays(cause.caller.minutes) };
  return {
    cause: cause.id,
    says: say("present.caller_about", words),
    steps: toldSteps(kb, cause.caller, again),
    proof: cause.caller.proof,
  };
}
