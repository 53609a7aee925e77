// What the page is made of, for whoever wants to look at it or test it from the browser's console.

function api(reasoner) {
  const { kb } = reasoner;
  return Object.freeze({
    kb, step, parseQuantity, parseReading, formatReading, readJournal, journalLine, salvage, sha256, general, fixed,
    floatText, likelySays, say, matchComplaint, byCommonness, hear, porterStem, CALCULATORS,
    conclude: (session) => reasoner.conclude(session),
    state: (session, thorough) => wholeState(reasoner, session, thorough),
    presented: (session, told) => plainRecord(everyRecord(reasoner, session, told)),
  });
}

// Everything that follows from a session, stage by stage; `thorough`: with all that people can be told.
function wholeState(reasoner, session, thorough) {
  const { kb } = reasoner;
  const conclusion = reasoner.conclude(session);
  return {
    ...asPlain(kb, session, conclusion), ...sessionState(session), ...stagesState(conclusion),
    ...(thorough ? toldState(reasoner, session, conclusion) : {}),
  };
}

function sessionState(session) {
  const { site, by, end, earlier, notes, photos, repairs, ticks, carried, attempts, answers } = session;
  return {
    photos, photos_shown: shownPhotos(session).map((p) => p.name),
    site, by, end, earlier, notes, outcome: end.outcome, reason: end.reason,
    repairs: repairs.map((r) => [r.cause, r.note, r.proof, r.reading, r.by, r.name]),
    ticks: ticks.map((t) => [t.item, t.result, t.reading]),
    carried: carried.map((a) => a.check),
    replaced: given({ carried, answers }).map((a) => a.replaced),
    attempts: attempts.map((t) => [t.cause, t.answers.length, t.carried.length, t.surelyMended]),
  };
}

function stagesState({ known, after, values, stands, ahead, next }) {
  return {
    beside: [next.why, next.beside],
    facts: Object.fromEntries(values),
    firings: after.firings.map((f) => [f.rule, f.premises]),
    settled: Object.fromEntries(after.settled),
    excluded: [...after.excluded].sort(),
    raised: [after.cautions, after.stopWork, stands, [...after.unlocked].sort()],
    computed: [...known.outcomes.values()].map((o) => o.says),
    gains: ahead.gains.map((g) => [g.option.check, g.minutes, g.saves, g.bits, g.worth, g.chances]),
  };
}

function toldState(reasoner, session, conclusion) {
  const { kb } = reasoner;
  const sheet = dispatchSheet(reasoner, session, conclusion);
  const again = lookAgain(kb, conclusion);
  return {
    said: given(session).map((a) => saidOf(kb.checks.get(a.check), a, session.setup.role)),
    shown: summarise(kb, session, conclusion).ranked.map((r) =>
      [r.cause.id, r.rival, r.probability, r.start + sum(r.steps.map((s) => s.decibans))]),
    prospects: whyThisCheck(kb, conclusion).map((p) => [p.state, p.probability, p.leaders[0][1]]),
    doubts: doubts(kb, conclusion).map((d) => d.wrong),
    again: again && [again.check, again.wrong],
    misfit: conclusion.misfit,
    unfitting: unfitting(kb, conclusion).map((d) => d.wrong),
    mended: mendedRepair(session)?.cause ?? "",
    checklist: checklist(kb, session).map((i) => [i.id, i.why, i.protective]),
    open: openItems(kb, session).map((i) => i.id),
    ordered: orderedStops(kb, session),
    follow: mayFollow(kb, session), endings: endingsOf(kb, session),
    doers: Object.fromEntries([...kb.causes.keys()].map((c) => [c, doersOf(kb, session, c)])),
    barred: Object.fromEntries([...kb.checks.keys()].map((c) => [c, barredNow(kb, session, c)])),
    first_checks: sheet.firstChecks,
    sheet: [sheet.access, sheet.electrician, sheet.cautions, sheet.bring.map((b) => b.says).sort()],
  };
}

const saidOf = (check, answer, role) =>
  [askText(check, role), answerSays(check, answer, role), originSays(check, answer, role)];

// Every record that is shown of a session; `told` are the cautions that were said before.
function everyRecord(reasoner, session, told) {
  const { kb } = reasoner;
  const conclusion = reasoner.conclude(session);
  const check = kb.checks.get(conclusion.next.check);
  return {
    about: aboutOf(kb, session),
    time: timeSays(kb, session, conclusion),
    answers: answersOfVisit(kb, session, conclusion, session.answers.map((a) => a.check)),
    question: check ? questionOf(kb, session, check) : null,
    help: check ? helpOf(kb, session, check) : null,
    orders: ordersOf(kb, conclusion),
    raised: raisedCautions(kb, conclusion.after.cautions),
    raised_last: raisedLast(reasoner, session, conclusion),
    of_visit: cautionsOfVisit(kb, toldBefore(kb, session)),
    doubts: doubtsOf(kb, session, conclusion),
    lost: lostOf(kb, session, conclusion),
    why: whyOf(kb, conclusion),
    likely: likelyOf(kb, conclusion),
    looks: looksOf(kb, session, conclusion),
    facts: factsOf(kb, session, conclusion),
    strips: stripsOf(kb, session, conclusion),
    workings: workingsOf(kb, session, conclusion),
    result: resultOf(kb, session, conclusion, told),
    next: nextOf(kb, session, conclusion),
    owed: owedOf(kb, session),
    ending: session.end.outcome ? endingOf(kb, session, openItems(kb, session)) : null,
    sheet: sheetOf(reasoner, session, conclusion),
  };
}

function plainRecord(value) {
  if (value instanceof Map) return [...value];
  if (Array.isArray(value)) return value.map(plainRecord);
  if (!value || typeof value !== "object") return value;
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, plainRecord(inner)]));
}
