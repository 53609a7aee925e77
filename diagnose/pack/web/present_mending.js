// What comes after a conclusion: who repaired what, the proof that is owed, return to service.

function nextOf(kb, session, conclusion) {
  const mended = mendedRepair(session);
  return {
    candidates: candidatesOf(kb, session, conclusion),
    lines: linesOf(kb, session),
    follow: mayFollow(kb, session),
    proved: mended ? kb.causes.get(mended.cause).says : "",
    ways: waysToEnd(kb, session),
  };
}

// The remedies worth naming, in the order they are worth trying.
function candidatesOf(kb, session, conclusion) {
  const summary = summarise(kb, session, conclusion);
  const named = unique([...summary.order, ...summary.ranked.map((r) => r.cause.id)]);
  return named.filter((c) => c !== kb.settings.outside_cause).map((c) => candidateOf(kb, session, kb.causes.get(c)));
}

// `doers`: who may have done it, where it cannot have been whoever has the visit; `refused`: why nobody may have.
function candidateOf(kb, session, cause) {
  const may = doersOf(kb, session, cause.id);
  const doers = may.includes("") ? [] : may.map((by) => ({ by, says: say(`session.done_by_${by}`) }));
  const refusedAs = may.length ? "" : refusal(kb, session, { event: "repaired", cause: cause.id })?.says ?? "";
  const warning = cause.remedy.hides_fault ? say("present.hides_fault_note") : "";
  return { cause: cause.id, says: cause.says, doers, refused: refusedAs, warning };
}

// The proof that is owed, or null.
function owedOf(kb, session) {
  const pending = pendingRepair(session);
  const cause = pending && kb.causes.get(pending.cause);
  if (!cause) return cause;
  const [proof, minutes] = proofOf(cause, pending.by);
  return { cause: cause.id, says: cause.says, proof, minutes: minutesSays(minutes) };
}

// The whole checklist, protective lines first.
function linesOf(kb, session) {
  const ticks = new Map(session.ticks.map((t) => [t.item, t]));
  const left = new Set(openItems(kb, session).map((item) => item.id));
  return checklist(kb, session).map(({ id, says, why, protective }) => {
    const { result: done = "", reading = "" } = ticks.get(id) ?? {};
    const result = say(`present.ticked_${done || "open"}`);
    return { item: id, says, why, protective, done, result, reading, open: left.has(id) };
  });
}

const stillOpen = ({ lines }) => lines.filter((line) => line.open);
