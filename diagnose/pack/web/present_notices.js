// What has to be seen before anything else: stop-work orders, doubtful answers, and those that count no longer.

// Every order that stands, those not confirmed first.
function ordersOf(kb, conclusion) {
  const found = conclusion.stands.map((id) => {
    const { says, short, tell, tag } = kb.cautions.get(id);
    return { id, says, short, tell, tag, confirmed: !conclusion.stopWork.includes(id) };
  });
  return found.sort((a, b) => Number(a.confirmed) - Number(b.confirmed));
}

// Answers that contradict each other; the most surprising when all fit badly, else the one that fits worst.
function doubtsOf(kb, session, conclusion) {
  const sure = confirmedChecks(session);
  const open = conclusion.after.contradictions.map((rule) => [rule, kb.rules.get(rule).then.contradiction])
    .filter(([, { recheck }]) => !recheck.every((check) => sure.includes(check)));
  const found = open.map(([rule, { says, recheck }]) => ({ id: rule, says, again: againOf(kb, session, recheck) }));
  const surprising = unfitting(kb, conclusion, sure).map((d) => d.check);
  const worst = surprising.length ? null : lookAgain(kb, conclusion, sure);
  if (surprising.length) {
    found.push({ id: "all", says: say("present.unfitting"), again: againOf(kb, session, surprising) });
  } else if (worst) {
    found.push({ id: worst.check, says: misfitSays(kb, session, worst), again: againOf(kb, session, [worst.check]) });
  }
  return found;
}

// How likely it is wrong, and what would fit better where that is an answer in words.
function misfitSays(kb, session, { check: id, wrong, state, better }) {
  const check = kb.checks.get(id);
  const means = check.finding?.states.get(better) ?? [];
  const option = means.find((o) => optionsOf(check).has(o));
  if (!option || better === state) return say("present.likely_wrong", { percent: percent(wrong) });
  const said = answerSays(check, { check: id, value: option, sure: true }, session.setup.role);
  return say("present.likely_wrong_better", { percent: percent(wrong), better: said });
}

// Those of the checks that have an answer now, in the order named.
function againOf(kb, session, checks) {
  const answers = new Map(given(session).map((a) => [a.check, a]));
  const { role } = session.setup;
  return checks.filter((c) => answers.has(c)).map((id) => {
    const [check, answer] = [kb.checks.get(id), answers.get(id)];
    return { check: id, number: numberOf(session, id), asked: askText(check, role), said: answerSays(check, answer, role) };
  });
}

// Answers whose condition no longer holds.
const lostOf = (kb, session, conclusion) => conclusion.stale.map((check) =>
  ({ check, says: say("present.lost", { question: askText(kb.checks.get(check), session.setup.role) }) }));
