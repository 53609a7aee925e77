// How a visit ends, goes on after that, and what is noted beside it.

function closed(_kb, session, { outcome, reason = "", by = "", to = "", due = "", meanwhile = "" }) {
  const named = session.by || (outcome === "proof_owed" ? "" : by); // who is still to come is not who ends it
  const end = { ...NOT_ENDED, outcome, reason, by, to, due, meanwhile };
  return marked(session, { end, by: named, concluded: true });
}

// An ended visit goes on where it ended.
function reopened(_kb, session) {
  return { ...unended(session), previous: session, mark: session.answers.length };
}

// How it ended is kept, with what was proved for that: lines of the checklist are proved anew.
function unended(session) {
  if (!session.end.outcome) return session;
  const ended = { ...session.end, ticks: session.ticks };
  return { ...session, end: NOT_ENDED, earlier: [...session.earlier, ended], ticks: [] };
}

// Kept whatever else is taken back.
function noted(_kb, session, { text, kind, by }) {
  return { ...session, notes: [...session.notes, { text, kind, by: by || session.by }] };
}
