// What must be proved before a gate goes back into service, built from what was touched and what was ordered.

const OWED = { stop_work: "session.ordered", repair: "session.repaired", enclosure: "session.opened" };

// Every stop-work order this visit ever raised, also on answers that repairs have made obsolete.
function orderedStops(kb, session) {
  const stages = [...session.attempts.map((a) => [...a.carried, ...a.answers]), given(session)];
  return unique(stages.flatMap((answers) =>
    consequences(kb, gather(kb, session.setup, session.complaint, answers).values).stopWork));
}

// The items of this visit, protective ones first: touched by a repair, of every gate, of one device.
function checklist(kb, session) {
  const reasons = new Map();
  const add = (item, why) => { if (why && !reasons.has(item)) reasons.set(item, why); };
  const site = factsOfSetup(kb, session.setup);
  for (const { cause } of session.repairs) {
    const { remedy, says } = kb.causes.get(cause);
    for (const touched of remedy.touches.filter((t) => !absentThere(kb.proofs.get(t), site))) {
      add(touched, say("session.touched_by", { cause: says }));
    }
  }
  const occasions = occasionsOf(kb, session);
  const cautions = new Set(doneChecks(kb, session).flatMap((check) => check.cautions));
  for (const proof of [...kb.proofs.values()].sort((a, b) => Math.sign(a.when.size) - Math.sign(b.when.size))) {
    const fits = [...proof.when].every(([fact, values]) => values.includes(site.get(fact)));
    if (fits) add(proof.id, whyOwed(proof, occasions, cautions));
  }
  const items = [...reasons].map(([id, why]) => {
    const { says, protective } = kb.proofs.get(id);
    return { id, says, why, protective };
  });
  return items.sort((a, b) => Number(b.protective) - Number(a.protective));
}

// Whether it is known that the gate does not have what the proof is about; what nobody knows of is proved.
const absentThere = (proof, site) =>
  [...proof.when].some(([fact, values]) => site.has(fact) && !values.includes(site.get(fact)));

// What makes a proof owed, other than that a repair touched it; undefined where nothing does.
function whyOwed(proof, occasions, cautions) {
  const after = proof.after.filter((o) => occasions[o]).map((o) => say(OWED[o]));
  return [...after, ...[...proof.after_caution].filter(([c]) => cautions.has(c)).map(([, says]) => says)][0];
}

// What happened on this visit that proofs may follow on.
function occasionsOf(kb, session) {
  const remedies = session.repairs.map((r) => kb.causes.get(r.cause).remedy);
  const groups = [...doneChecks(kb, session), ...remedies].map((step) => step.access);
  return {
    stop_work: orderedStops(kb, session).length > 0,
    repair: session.repairs.length > 0,
    enclosure: groups.some((g) => g && kb.access.get(g).enclosure),
  };
}

// Checks that were carried out, before and after repairs.
function doneChecks(kb, session) {
  const answers = [...given(session), ...session.attempts.flatMap((t) => t.answers)].filter(madeHere);
  return answers.map((a) => kb.checks.get(a.check)).filter(Boolean);
}

// Items without a tick, failed, or waved through as not applicable after an order that forbids it.
function openItems(kb, session) {
  const ticks = new Map(session.ticks.map((t) => [t.item, t]));
  const orders = orderedStops(kb, session);
  return checklist(kb, session).filter((item) => !isSettled(kb.proofs.get(item.id), ticks.get(item.id), orders));
}

function isSettled(proof, tick, orders) {
  if (!tick || tick.result === "fail") return false;
  return tick.result === "pass" || !proof.never_waved_after.some((order) => orders.includes(order));
}

// Whether a repair touched what stands between people and the gate.
function touchedProtection(kb, session) {
  const touched = session.repairs.flatMap((r) => kb.causes.get(r.cause).remedy.touches);
  return touched.some((t) => kb.proofs.get(t).protective);
}
