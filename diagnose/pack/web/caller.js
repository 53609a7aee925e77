// What is for the caller: what he may do himself, what he sees when it worked, what holds until somebody comes.

const MOST_OWN = 2; // a caller keeps no more in mind
const LEAST_OWN = 0.05;

const onPhone = (session) => session.setup.role === "help_desk";

// The leading causes that the caller may do something about himself: none at all under a stop-work order.
function hisOwn(session, conclusion, summary) {
  if (!onPhone(session) || conclusion.stands.length) return [];
  return summary.ranked.filter((r) => r.cause.caller && r.probability >= LEAST_OWN).slice(0, MOST_OWN);
}

// The steps in the order they are told; `again`: what makes hands near the gate safe was said in full before.
function toldSteps(kb, remedy, again) {
  const cautions = cautionSays(kb, remedy.cautions);
  if (!remedy.hands_near) return [...cautions, ...remedy.steps];
  if (again) return [say("session.caller_again"), ...cautions, ...remedy.steps, say("session.caller_again_after")];
  const { caller_before: before, caller_after: after } = kb.settings;
  return [...cautionSays(kb, [before]), ...cautions, ...remedy.steps, ...cautionSays(kb, [after])];
}

const cautionSays = (kb, cautions) => cautions.map((c) => kb.cautions.get(c).says);

// What holds at the gate until somebody comes; an order's measures take the place of the complaint's.
function meanwhileOf(kb, session, conclusion) {
  if (!onPhone(session) || (session.outcome === "solved_on_phone" && !touchedProtection(kb, session))) return [];
  const own = conclusion.stands.flatMap((order) => kb.cautions.get(order).meanwhile);
  const measures = own.length ? own : kb.complaints.get(session.complaint).meanwhile;
  return unique([...measures, ...cautionSays(kb, kb.settings.meanwhile)]);
}

// What proves the remedy and how long that takes: a caller proves only by what he can see.
function proofOf(cause, by) {
  const { proof, proof_minutes: minutes } = (by === "caller" && cause.caller) || cause;
  return [proof, minutes];
}
