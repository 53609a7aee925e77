// Repair, proof and return to service: what events that the law has let pass make of a visit.

// Marked, so that Back returns to the session before this step.
function marked(session, changes) {
  const following = { ...session, ...changes, previous: session };
  return { ...following, mark: following.answers.length };
}

function repaired(_kb, session, { cause, note = "", by = "", name = "" }) {
  const repair = { cause, note, proof: "pending", reading: "", by, name: name || (by ? "" : session.by) };
  return marked(session, { repairs: [...session.repairs, repair], concluded: true });
}

// The proof of the last repair passed, or failed: then what is left is reasoned about anew.
function proved(kb, session, { passed, reading = "" }) {
  const repair = pendingRepair(session);
  const done = { ...repair, proof: passed ? "passed" : "failed", reading };
  const following = marked(session, { repairs: [...session.repairs.slice(0, -1), done] });
  return passed ? following : nextStage(kb, following, repair.cause, false);
}

// The last repair was good, but something is still wrong.
function anotherFault(kb, session) {
  return nextStage(kb, marked(session, {}), session.repairs[session.repairs.length - 1].cause, true);
}

// A new stage of the visit. What was found before stays; what a proved repair mended is not so any more.
function nextStage(kb, session, cause, surelyMended) {
  const attempt = { cause, answers: session.answers, carried: lasting(session), surelyMended };
  const carried = given(session).filter((a) => !surelyMended || stillHolds(kb, a, cause));
  const attempts = [...session.attempts, attempt];
  const numbered = numberedChecks(session).filter((c) => carried.some((a) => a.check === c));
  return { ...session, answers: [], carried, numbered, attempts, concluded: false, insist: false, mark: 0 };
}

// Whether the answer is as true without the cause.
const stillHolds = (kb, answer, cause) => kb.checks.has(answer.check) && !tellsOf(kb, cause, answer.check);

function ticked(_kb, session, { item, result, reading = "" }) {
  const others = session.ticks.filter((t) => t.item !== item);
  return marked(session, { ticks: [...others, { item, result, reading }] });
}
