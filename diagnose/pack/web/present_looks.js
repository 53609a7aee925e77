// What is done in one go: looks at one place, each with what it is when all is well; what a measurement needs.

// What is looked at in one go now; null where one question stands alone.
function looksOf(kb, session, { next }) {
  const checks = inOneGo(kb, next);
  if (next.why === "needed" || !checks.length) return null;
  const looks = checks.map((check) => ({
    question: questionOf(kb, session, check),
    help: helpOf(kb, session, check),
    normal: normalOf(check),
    well: answerSays(check, { value: normalOf(check), sure: true }, session.setup.role),
  }));
  return { looks, minutes: minutesTogether(checks), stand: looks[0].question.stand };
}

// What is asked in one go now before a measurement; null where one question stands alone.
function factsOf(kb, session, { next }) {
  const checks = inOneGo(kb, next);
  if (next.why !== "needed" || !checks.length) return null;
  const facts = checks.map((check) => [questionOf(kb, session, check), helpOf(kb, session, check)]);
  return { facts, minutes: minutesTogether(checks), stand: facts[facts.length - 1][0].stand };
}

// The next check and those beside it; none where it stands alone.
const inOneGo = (kb, { check, beside }) => (beside.length ? [check, ...beside].map((id) => kb.checks.get(id)) : []);

const minutesTogether = (checks) => Number(fixed(sum(checks.map((c) => c.minutes)), 0)); // a tie as Python rounds it
