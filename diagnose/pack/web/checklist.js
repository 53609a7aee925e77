// What must be proved before a gate goes back into service, built from what was touched and what was ordered.

const BYPASS = "no_bypass"; // the caution of every check that puts a bridge in
const PROTECTION = "stop_protection_lost";

// Every stop-work order this visit ever raised, also on answers that repairs have made obsolete.
function orderedStops(kb, session) {
  const stages = [...session.attempts.map((a) => [...a.carried, ...a.answers]), given(session)];
  return unique(stages.flatMap((answers) =>
    consequences(kb, gather(kb, session.setup, session.complaint, answers).values).stopWork));
}

// The items of this visit, protective ones first.
function checklist(kb, session) {
  const reasons = new Map();
  const add = (item, why) => { if (!reasons.has(item)) reasons.set(item, why); };
  for (const { cause } of session.repairs) {
    const { remedy, says } = kb.causes.get(cause);
    for (const touched of remedy.touches) add(touched, say("session.touched_by", { cause: says }));
  }
  itemsFromChecks(kb, session, add);
  itemsOfProtection(kb, session, add);
  const items = [...reasons].map(([id, why]) =>
    ({ id, says: kb.proofs.get(id), why, protective: kb.settings.protective_proofs.includes(id) }));
  return items.sort((a, b) => Number(b.protective) - Number(a.protective));
}

// Covers that were opened and bridges that were put in for checks or repairs.
function itemsFromChecks(kb, session, add) {
  const answers = [...given(session), ...session.attempts.flatMap((t) => t.answers)].filter(saysSomething);
  const done = answers.map((a) => kb.checks.get(a.check)).filter(Boolean);
  const groups = [...done.map((c) => c.access), ...session.repairs.map((r) => kb.causes.get(r.cause).remedy.access)];
  if (groups.some((g) => g && kb.access.get(g).enclosure)) add("covers", say("session.opened"));
  if (done.some((c) => c.cautions.includes(BYPASS))) add("bridges", say("session.bridged"));
}

// Protective functions: after any repair, and after any stop-work order whatever was done.
function itemsOfProtection(kb, session, add) {
  const stops = orderedStops(kb, session);
  const repaired = session.repairs.length ? say("session.repaired") : "";
  const why = stops.length ? say("session.ordered") : repaired;
  if (!why) return;
  add("protective_zone", why);
  if (session.setup.devices.includes("edge")) add("edge", why);
  if (session.setup.profile.get("device.test_input") === "fitted") add("test_input", why);
}

// Items without a tick, failed, or - after a lost protection - waved through as not applicable.
function openItems(kb, session) {
  const ticks = new Map(session.ticks.map((t) => [t.item, t]));
  const lost = orderedStops(kb, session).includes(PROTECTION);
  return checklist(kb, session).filter((item) => !isSettled(item, ticks.get(item.id), lost));
}

function isSettled(item, tick, protectionLost) {
  if (!tick || tick.result === "fail") return false;
  return tick.result === "pass" || !(item.id === "protective_zone" && protectionLost);
}

// Whether a repair touched what stands between people and the gate.
function touchedProtection(kb, session) {
  const touched = session.repairs.flatMap((r) => kb.causes.get(r.cause).remedy.touches);
  return touched.some((t) => kb.settings.protective_proofs.includes(t));
}
