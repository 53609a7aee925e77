// The sheet for whoever is sent: what is likely, what to bring, what to check first, whom and what else it takes.

function sheetOf(reasoner, session, conclusion) {
  const { kb } = reasoner;
  const found = dispatchSheet(reasoner, session, conclusion);
  const says = (table) => (id) => kb[table].get(id).says;
  return {
    about: aboutOf(kb, session),
    reason: session.end.reason,
    orders: found.stopWork.map((o) => [kb.cautions.get(o).says, kb.cautions.get(o).tag]),
    answers: answeredSays(kb, session),
    photos: photoLines(kb, session),
    causes: found.causes.map(([c, p]) => `${kb.causes.get(c).says} (${percent(p)})`),
    strips: knownStrips(kb, session, conclusion),
    bring: found.bring.map(bringSays),
    own: hisOwn(session, conclusion, summarise(kb, session, conclusion)).map((r) => r.cause.says),
    meanwhile: meanwhileOf(kb, session, conclusion),
    first_checks: found.firstChecks.map((c) => kb.checks.get(c).ask),
    access: [...found.access.map(says("access")), ...(found.electrician ? [say("present.an_electrician")] : [])],
    cautions: found.cautions.map(says("cautions")),
  };
}

function answeredSays(kb, session) {
  const { role } = session.setup;
  return given(session).filter(worthShowing).map((a) => {
    const check = kb.checks.get(a.check);
    return say("present.answered", { asked: askText(check, role), said: answerSays(check, a, role) });
  });
}

const bringSays = ({ says, wanted, part }) =>
  say(part ? "present.bring_part" : "present.bring_tool", { says, percent: percent(wanted) });
