// One visit as a value that is never changed in place, and the one transition function. Events are in the plain form
// of the visit file. Throws SessionError, and changes nothing, when an event is not allowed.

const FRESH = {
  words: "", site: "", digest: "", id: "", answers: [], concluded: false, insist: false, carried: [], attempts: [],
  repairs: [], ticks: [], outcome: "", reason: "", previous: null, mark: 0,
};
const given = (session) => [...session.carried, ...session.answers];
const answerTo = (session, check) => given(session).find((a) => a.check === check) ?? null;

// The repair whose proof is still owed.
function pendingRepair(session) {
  const last = session.repairs[session.repairs.length - 1];
  return last && last.proof === "pending" ? last : null;
}

// The repair that was proved good last, unless another fault has been looked for since.
function mendedRepair(session) {
  const last = session.repairs[session.repairs.length - 1];
  return last && last.proof === "passed" && session.repairs.length > session.attempts.length ? last : null;
}

function step(kb, session, event) {
  if (event.event === "begin") return begun(kb, session, event);
  if (!session) throw new SessionError("the visit has not begun");
  if (session.outcome && !["back", "take_over"].includes(event.event)) {
    throw new SessionError("the visit is closed; 'back' opens it again");
  }
  return TRANSITIONS[event.event](kb, session, event);
}

const TRANSITIONS = {
  reply: replied,
  back: (_kb, session) => takenBack(session),
  complain: (kb, session, { complaint }) => {
    requireComplaint(kb, complaint);
    return { ...session, complaint, concluded: false };
  },
  conclude: (_kb, session) => ({ ...session, concluded: true, insist: false }),
  ask_on: (_kb, session) => ({ ...session, concluded: false, insist: true }),
  take_over: (kb, session, { setup }) => {
    requireDevices(kb, setup.devices ?? []);
    return { ...session, setup: setupOf(setup), concluded: false, outcome: "", reason: "" };
  },
  repaired: (...given) => repaired(...given),
  proved: (...given) => proved(...given),
  another_fault: (...given) => anotherFault(...given),
  ticked: (...given) => ticked(...given),
  close: (...given) => closed(...given),
};

// Without the last answer; or as it was before the last step of mending, when no answer came since.
function takenBack(session) {
  if (session.previous && session.answers.length <= session.mark) return session.previous;
  if (!session.answers.length) throw new SessionError("there is no answer to take back");
  return { ...session, answers: session.answers.slice(0, -1), concluded: false };
}

function begun(kb, session, event) {
  if (session) throw new SessionError("the visit has begun already");
  requireComplaint(kb, event.complaint);
  requireDevices(kb, event.setup.devices ?? []);
  const { complaint, words = "", site = "", digest = "", id = "" } = event;
  return { ...FRESH, setup: setupOf(event.setup), complaint, words, site, digest, id };
}

function setupOf({ role, electrician = false, tools = null, devices = [], profile = {} }) {
  return { role, electrician, tools, devices, profile: new Map(Object.entries(profile)) };
}

function requireDevices(kb, devices) {
  const wrong = devices.find((d) => !kb.devices.has(d));
  if (wrong) throw new SessionError(`unknown sensor kind '${wrong}'; known: ${[...kb.devices.keys()].join(", ")}`);
}

function requireComplaint(kb, complaint) {
  if (kb.complaints.has(complaint)) return;
  throw new SessionError(`unknown complaint '${complaint}'; known: ${[...kb.complaints.keys()].join(", ")}`);
}

function replied(kb, session, event) {
  const problem = replyProblem(kb, event.check, event.value);
  if (problem) throw new SessionError(problem);
  return placed(session, event);
}

// The answer at the end, also when it replaces one: order says what was known when 'made safe' was said.
function placed(session, event) {
  const before = answerTo(session, event.check);
  const by = event.by || (session.setup.role === "help_desk" ? "caller, by eye" : "technician");
  const differs = before && before.by !== by && before.value !== event.value;
  const replaced = differs ? `${valueText(before.value)} (${before.by})` : before?.replaced ?? "";
  const { check, value, sure = true, note = "" } = event;
  const others = (answers) => answers.filter((a) => a.check !== check);
  const answers = [...others(session.answers), { check, value, sure, by, note, replaced }];
  return { ...session, answers, carried: others(session.carried), concluded: false, insist: false };
}

const valueText = (value) => (isText(value) ? value : floatText(value));
const quoted = (value) => (isText(value) ? `'${value}'` : floatText(value));

// The words a check can be answered with; empty for a quantity.
function answersOf(check) {
  if (check.kind === "yes_no") return ["yes", "no"];
  return check.kind === "choice" ? [...check.options.keys()] : [];
}

// Why a check cannot be answered with this value, or ''.
function replyProblem(kb, name, value) {
  const check = kb.checks.get(name);
  if (!check) return `there is no check '${name}'`;
  if (NO_ANSWER.includes(value)) return "";
  if (check.kind !== "quantity") {
    const words = answersOf(check).sort();
    return words.includes(value) ? "" : `${name}: ${quoted(value)} is not one of ${words.join(", ")}`;
  }
  const [low, high] = check.hard ?? [-Infinity, Infinity];
  if (!isText(value) && low <= value && value <= high) return "";
  const limits = `${formatReading(low, check.unit)} and ${formatReading(high, check.unit)}`;
  return `${name}: ${quoted(value)} is not a number between ${limits}`;
}

// Fold what the present knowledge still allows, and say why each other event was left out. Answers are judged in the
// end, so that Back takes back what it took back then.
function salvage(kb, events) {
  let session = null;
  const leftOut = [];
  for (const event of events) {
    try {
      session = session && event.event === "reply" ? placed(session, event) : step(kb, session, event);
    } catch (error) {
      if (!(error instanceof SessionError) || !session) throw error;
      leftOut.push(error.message);
    }
  }
  if (!session) throw new SessionError("the visit has no events");
  const problems = everyAnswer(session).map((a) => replyProblem(kb, a.check, a.value));
  return { session: fitting(kb, session), leftOut: [...leftOut, ...problems.filter(Boolean)] };
}

// Every answer that holds, and every one that a repair made obsolete.
function everyAnswer(session) {
  return unique([...given(session), ...session.attempts.flatMap((t) => [...t.carried, ...t.answers])]);
}

// The session, and each one that Back returns to, with those answers only that the knowledge allows.
function fitting(kb, session) {
  const kept = (answers) => answers.filter((a) => !replyProblem(kb, a.check, a.value));
  const chain = [session];
  while (chain[chain.length - 1].previous) chain.push(chain[chain.length - 1].previous);
  return chain.reverse().reduce((previous, each) => {
    const attempts = each.attempts.map((t) => ({ ...t, answers: kept(t.answers), carried: kept(t.carried) }));
    const mark = kept(each.answers.slice(0, each.mark)).length;
    return { ...each, answers: kept(each.answers), carried: kept(each.carried), attempts, previous, mark };
  }, null);
}
