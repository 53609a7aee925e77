// What may follow what on a visit, and who may do it. The table comes with the page's data (kb.law).

class Refusal {
  constructor(key, says) { Object.assign(this, { key, says }); }
}

const refused = (kb, key, named = {}) => new Refusal(key, say(`session.${key}`, named));

function placeOfVisit(session) {
  if (!session) return "before";
  if (session.end.outcome) return "closed";
  return pendingRepair(session) ? "owed" : "open";
}

// Why the event is not allowed now, or null.
function refusal(kb, session, event) {
  const row = kb.law.rows[event.event];
  const key = row[placeOfVisit(session)];
  if (key) return refused(kb, key);
  const ending = event.event === "close" ? own(kb.law.endings, event.outcome) ?? [] : [];
  return firstRefusal(kb, session, event, [...row.visit, ...row.event, ...ending]);
}

function firstRefusal(kb, session, event, grounds) {
  for (const name of grounds) {
    const no = GROUNDS[name](kb, session, event);
    if (no) return no;
  }
  return null;
}

// For every kind of event: '' where one may follow now, else why none may, whatever it says.
function mayFollow(kb, session) {
  const place = placeOfVisit(session);
  const why = (row) => (row[place] ? refused(kb, row[place]) : firstRefusal(kb, session, null, row.visit));
  return Object.fromEntries(Object.entries(kb.law.rows).map(([word, row]) => [word, why(row)?.says ?? ""]));
}

// Why the check may not be answered now, other than with 'don't know'; or ''.
function barredNow(kb, session, check) {
  const grounds = kb.law.rows.reply.event.filter((g) => g !== "fits_check");
  return firstRefusal(kb, session, { event: "reply", check, value: "" }, grounds)?.says ?? "";
}

// For every way to end: '' where the visit may end so once a reason is given, else why it may not.
function endingsOf(kb, session) {
  const why = (outcome) => refusal(kb, session, { ...kb.law.full, outcome })?.says ?? "";
  return Object.fromEntries(Object.keys(kb.law.endings).map((outcome) => [outcome, why(outcome)]));
}

// What has to be said for the visit to end so.
function neededFor(kb, outcome) {
  return kb.law.endings[outcome].map((ground) => own(kb.law.needed, ground)).filter(Boolean);
}

// What to ask for it; a name only where none is known or another one is needed.
function askedFor(kb, session, outcome) {
  const known = session.by && !neededFor(kb, outcome).includes("by");
  return kb.law.asked[outcome].filter((name) => name !== "by" || !known);
}

// Whether lines of the checklist are all that keeps the visit from ending so, and can be proved now.
function provable(kb, session, outcome) {
  const no = refusal(kb, session, { ...kb.law.full, outcome });
  return no?.key === "still_open" && !mayFollow(kb, session).ticked;
}

// What to go on asking means: after a repair that was proved good, something else must be wrong.
const moreOf = (session) => ({ event: mendedRepair(session) ? "another_fault" : "ask_on" });

// What to go back means: from a question that was wanted after a conclusion, to that conclusion.
const backOf = (session) => ({ event: session.insist && placeOfVisit(session) === "open" ? "conclude" : "back" });

// Who may have carried out the remedy: '' whoever has the visit; the others have to be named.
function doersOf(kb, session, cause) {
  return ["", ...kb.law.doers].filter((by) => !refusal(kb, session, { event: "repaired", cause, by }));
}

// What follows by itself: the conclusion, where nothing more would be asked.
function dueEvents(session, conclusion) {
  const asking = placeOfVisit(session) === "open" && !session.concluded;
  return asking && !conclusion.next.check ? [{ event: "conclude" }] : [];
}
