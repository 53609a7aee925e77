// One visit as a value that is never changed in place, and the one transition function. Events are in the plain form
// of the visit file. Throws SessionError, and changes nothing, when an event is not allowed.

const NOT_ENDED = { outcome: "", reason: "", by: "", to: "", due: "", meanwhile: "", ticks: [] };
const FRESH = {
  words: "", site: "", digest: "", id: "", answers: [], concluded: false, insist: false, carried: [], attempts: [],
  repairs: [], ticks: [], by: "", end: NOT_ENDED, earlier: [], notes: [], photos: [], numbered: [], previous: null, mark: 0,
};
const given = (session) => [...lasting(session), ...session.answers];

// Answers from before the last repair that hold and were not given anew since.
const lasting = ({ carried, answers }) => carried.filter(({ check }) => !answers.some((a) => a.check === check));

// Checks by the number of their answer, from 1; one that was taken back keeps its place before later ones.
function numberedChecks(session) {
  const held = given(session).map((a) => a.check);
  const order = unique([...(session.numbered ?? []), ...held]);
  while (order.length && !held.includes(order[order.length - 1])) order.pop();
  return order;
}

// The number of the answer to a check, or the one that it will have.
const numberOf = (session, check) => [...numberedChecks(session), check].indexOf(check) + 1;
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
  const no = refusal(kb, session, event);
  if (no) throw new SessionError(no.says);
  return TRANSITIONS[event.event](kb, session, event);
}

const TRANSITIONS = {
  begin: (_kb, _session, event) => begun(event),
  reply: (_kb, session, event) => placed(session, event),
  back: (_kb, session) => takenBack(session),
  complain: (_kb, session, { complaint }) => ({ ...session, complaint, concluded: false }),
  conclude: (_kb, session) => ({ ...session, concluded: true, insist: false }),
  ask_on: (_kb, session) => ({ ...session, concluded: false, insist: true }),
  take_over: (_kb, session, { setup, by = "" }) =>
    ({ ...unended(session), setup: takenSetup(session, setup), by, concluded: false }),
  named: (_kb, session) => ({ ...session, concluded: false, insist: false }), // the same devices: requireGear
  repaired: (...given) => repaired(...given),
  proved: (...given) => proved(...given),
  another_fault: (...given) => anotherFault(...given),
  ticked: (...given) => ticked(...given),
  close: (...given) => closed(...given),
  reopen: (...given) => reopened(...given),
  noted: (...given) => noted(...given),
  pictured: (...given) => pictured(...given),
};

// Without the last answer; or as it was before the last step of mending, when no answer came since. Whoever has the
// visit now keeps it: going back over a hand-over gives nobody another's licence. Notes and pictures stay.
function takenBack(session) {
  if (session.previous && session.answers.length <= session.mark) {
    const { setup, by, notes, photos } = session;
    return { ...session.previous, setup, by, notes, photos };
  }
  return { ...session, answers: session.answers.slice(0, -1), concluded: false };
}

function begun({ setup, complaint, words = "", site = "", digest = "", id = "", by = "" }) {
  return { ...FRESH, setup: setupOf(setup), complaint, words, site, digest, id, by: squeezed(by) };
}

function setupOf({ role, electrician = false, tools = null, devices = [], profile = {}, gear = [] }) {
  return geared({ role, electrician, tools, devices, profile: new Map(Object.entries(profile)), gear });
}

// Whoever takes a visit over finds the devices as they are named.
function takenSetup(session, setup) {
  const own_ = setupOf(setup);
  return session.setup.gear.length ? geared(own_, session.setup.gear) : own_;
}

// The answer at the end, also when it replaces one: order says what was known when 'made safe' was said.
// Its number stays that of the first answer to the check.
function placed(session, event) {
  const before = answerTo(session, event.check);
  const by = event.by || answering(session);
  const { check, value, sure = true, note = "", heard = false } = event;
  const differs = before && before.by !== by
    && (before.value !== value || elseWords(before) !== elseWords({ value, note }));
  const replaced = differs ? { value: before.value, by: before.by, note: elseWords(before) } : before?.replaced ?? null;
  const others = session.answers.filter((a) => a.check !== check);
  const confirmed = Boolean(before) && before.value === value && !heard;
  const answers = [...others, { check, value, sure, by, note, replaced, heard, confirmed }];
  const numbered = unique([...numberedChecks(session), check]);
  return { ...session, answers, numbered, concluded: false, insist: false };
}

// Checks whose answer was given twice.
const confirmedChecks = (session) => given(session).filter((a) => a.confirmed).map((a) => a.check);

// Who answers, where the answer itself does not say.
function answering({ setup, by }) {
  if (setup.role === "help_desk") return "caller";
  return by && !by.startsWith("caller") ? by : "technician";
}

// Fold a file of other knowledge or of an earlier law, and tell what was left out of it, and what only kept. Answers
// are told of in the end, so that Back takes back what it took back then.
function salvage(kb, events) {
  const { rows, unfit } = kb.law;
  const [told, kept] = [[], new Map()];
  let session = null;
  for (const event of openedEvents(kb, events, told)) {
    const no = refusal(kb, session, event);
    if (no && !session) throw new SessionError(no.says);
    if (no && ![...unfit, ...rows[event.event].kept].includes(no.key)) {
      told.push(say("session.left_out", no));
      continue;
    }
    session = TRANSITIONS[event.event](kb, session, event);
    if (no && event.event !== "reply") told.push(say("session.kept", no));
    else if (no && !unfit.includes(no.key)) kept.set(session.answers[session.answers.length - 1], say("session.kept", no));
  }
  if (!session) throw new SessionError(say("session.no_events"));
  const ofAnswers = everyAnswer(session).map((a) => {
    const no = misfitOf(kb, a.check, a.value);
    return no ? say("session.left_out", no) : kept.get(a);
  });
  return { session: fitting(kb, session), told: [...told, ...ofAnswers.filter(Boolean)] };
}

// The events; where the opening is lost, with one in its place that grants nothing and vouches for nothing.
function openedEvents(kb, events, told) {
  if (!events.length || events[0].event === "begin") return events;
  told.push(say("session.opening_lost"));
  return [{ event: "begin", setup: { role: "help_desk" }, complaint: [...kb.complaints.keys()][0] }, ...events];
}

// Every answer that holds, and every one that a repair made obsolete.
function everyAnswer(session) {
  return unique([...given(session), ...session.attempts.flatMap((t) => [...t.carried, ...t.answers])]);
}

// The session, and each one that Back returns to, with those answers only that the knowledge allows.
function fitting(kb, session) {
  const kept = (answers) => answers.filter((a) => !misfitOf(kb, a.check, a.value));
  const chain = [session];
  while (chain[chain.length - 1].previous) chain.push(chain[chain.length - 1].previous);
  return chain.reverse().reduce((previous, each) => {
    const attempts = each.attempts.map((t) => ({ ...t, answers: kept(t.answers), carried: kept(t.carried) }));
    const mark = kept(each.answers.slice(0, each.mark)).length;
    return { ...each, answers: kept(each.answers), carried: kept(each.carried), attempts, previous, mark };
  }, null);
}
