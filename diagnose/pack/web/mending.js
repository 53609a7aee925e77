// Repair, proof, return to service and closing: the transitions after a conclusion.

const RESULTS = ["pass", "fail", "na"];
const OUTCOMES = ["in_service", "left_out", "solved_on_phone", "dispatched"];

// Marked, so that Back returns to the session before this step.
function marked(session, changes) {
  const following = { ...session, ...changes, previous: session };
  return { ...following, mark: following.answers.length };
}

function repaired(kb, session, { cause, note = "" }) {
  if (!kb.causes.has(cause)) throw new SessionError(`there is no cause '${cause}'`);
  if (pendingRepair(session)) {
    throw new SessionError("the last repair has not been proved yet; say whether its proof passed first");
  }
  const repair = { cause, note, proof: "pending", reading: "" };
  return marked(session, { repairs: [...session.repairs, repair], concluded: true });
}

// The proof of the last repair passed, or failed: then what is left is reasoned about anew.
function proved(kb, session, { passed, reading = "" }) {
  const repair = pendingRepair(session);
  if (!repair) throw new SessionError("no repair is waiting for its proof");
  const done = { ...repair, proof: passed ? "passed" : "failed", reading };
  const following = marked(session, { repairs: [...session.repairs.slice(0, -1), done] });
  return passed ? following : nextStage(kb, following, repair.cause, false);
}

// The last repair was good, but something is still wrong.
function anotherFault(kb, session) {
  const last = session.repairs[session.repairs.length - 1];
  if (!last || last.proof !== "passed" || session.repairs.length <= session.attempts.length) {
    throw new SessionError("a second fault is looked for once a repair was proved good");
  }
  return nextStage(kb, marked(session, {}), last.cause, true);
}

// Keep what the repair made obsolete with the attempt; carry on with what still holds.
function nextStage(kb, session, cause, surelyMended) {
  const attempt = { cause, answers: session.answers, carried: session.carried, surelyMended };
  const carried = given(session).filter((a) => stillHolds(kb, a, cause));
  const attempts = [...session.attempts, attempt];
  return { ...session, answers: [], carried, attempts, concluded: false, insist: false, mark: 0 };
}

// Whether repairing the cause leaves the answer's meaning untouched: its finding is no sign of the cause.
function stillHolds(kb, answer, cause) {
  const check = kb.checks.get(answer.check);
  return Boolean(check) && (!check.finding || !kb.causes.get(cause).signs.has(check.finding.id));
}

function ticked(kb, session, { item, result, reading = "" }) {
  if (!kb.proofs.has(item)) {
    throw new SessionError(`there is no checklist item '${item}'; known: ${[...kb.proofs.keys()].join(", ")}`);
  }
  if (!RESULTS.includes(result)) throw new SessionError(`a checklist item is pass, fail or na, not '${result}'`);
  if (result === "na" && kb.settings.protective_proofs.includes(item) && !squeezed(reading)) {
    throw new SessionError("'not applicable' on a protective function needs the reason");
  }
  const others = session.ticks.filter((t) => t.item !== item);
  return marked(session, { ticks: [...others, { item, result, reading }] });
}

// Refused while something owed is open; 'left out of service' always is possible with a reason.
function closed(kb, session, { outcome: wanted, reason = "" }) {
  if (!OUTCOMES.includes(wanted)) throw new SessionError(`a visit ends as ${OUTCOMES.join(", ")}, not '${wanted}'`);
  const problem = closeProblem(kb, session, wanted, reason);
  if (problem) throw new SessionError(problem);
  return marked(session, { outcome: wanted, reason, concluded: true });
}
