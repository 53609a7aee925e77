// What the visit is about, and everything answered on it so far.

function aboutOf(kb, session) {
  const { role } = session.setup;
  return {
    site: session.site,
    complaint: kb.complaints.get(session.complaint).says,
    words: session.words,
    role: roleSays(session),
    help_desk: role === "help_desk",
    gear: kb.gear.length ? kb.gear_says : session.setup.gear.map((d) => d.name).join(", "),
  };
}

const roleSays = ({ setup }) => say(setup.electrician ? "present.role_electrician" : `present.role_${setup.role}`);

// `lookedAt`: checks that whoever has the visit now answered or confirmed; null: all of them.
function answersOfVisit(kb, session, conclusion, lookedAt = null) {
  return {
    complaint: kb.complaints.get(session.complaint).says,
    given: numberedChecks(session).map((c) => answerTo(session, c)).filter(Boolean)
      .map((a) => givenOf(kb, session, a, !conclusion.stale.includes(a.check), lookedAt)),
    computed: computedOf(conclusion),
    aside: [], // this page renames no devices
  };
}

function givenOf(kb, session, answer, counted, lookedAt) {
  const [check, { role }] = [kb.checks.get(answer.check), session.setup];
  const inherited = lookedAt !== null && !lookedAt.includes(answer.check);
  return {
    check: check.id,
    number: numberOf(session, check.id),
    asked: askText(check, role),
    said: answerSays(check, answer, role),
    value: valueText(answer.value),
    origin: originSays(check, answer, role),
    counted,
    inherited,
    barred: inherited ? barredNow(kb, session, check.id) : "",
  };
}
