// Minutes of a visit: what it has taken so far by the knowledge, and what is expected to come.

// Every question with its check where it was made, each cover once, and the remedies with their proofs.
function minutesSpent(kb, session) {
  const answers = [...session.attempts.flatMap((t) => t.answers), ...session.answers]
    .filter((a) => kb.checks.has(a.check) && !a.heard);
  const made = answers.filter(saysSomething).map((a) => kb.checks.get(a.check));
  const causes = session.repairs.map((r) => kb.causes.get(r.cause));
  const opened = unique([...made.map((c) => c.access), ...causes.map((c) => c.remedy.access)]).filter(Boolean);
  const proofs = causes.filter((_, i) => session.repairs[i].proof !== "pending").map((c) => c.proof_minutes);
  return answers.length * kb.settings.asking_minutes + sum(made.map((c) => c.minutes))
    + sum(opened.map((group) => kb.access.get(group).minutes)) + sum(causes.map((c) => c.remedy.minutes)) + sum(proofs);
}

// Expected until a repair is proved, with no further question; 0 where nothing is expected.
function minutesToCome(kb, session, conclusion) {
  if (session.end.outcome || mendedRepair(session)) return 0;
  const pending = pendingRepair(session);
  return pending ? kb.causes.get(pending.cause).proof_minutes : conclusion.ahead.now;
}

const OPEN_FROM = 0.95; // of what handing over costs: then nothing is likely enough yet to count on less

// '12 min so far, about 40 min to come', or up to so many.
function timeSays(kb, session, conclusion) {
  const [spent, left] = [minutesSpent(kb, session), minutesToCome(kb, session, conclusion)];
  if (!left) return say("present.time_in_all", { spent: roundedSays(spent) });
  const key = left >= OPEN_FROM * kb.settings.specialist_minutes ? "present.time_open" : "present.time";
  return say(key, { spent: roundedSays(spent), left: roundedSays(left) });
}
