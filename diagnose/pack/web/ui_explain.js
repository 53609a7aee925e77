// Why this check, what is likely and how that came about, and everything answered so far.

function explanations(app, visit) {
  return [
    fold("why", visit.conclusion.next.check ? "Why this check" : "Why stop here", () => whyText(app, visit)),
    fold("likely", "Likely so far", () => likelyText(app.kb, visit)),
    fold("answers", `Answers so far (${given(visit.session).length})`, () => answersText(app, visit)),
  ];
}

function whyText(app, { conclusion }) {
  const { kb } = app;
  const { next } = conclusion;
  const reason = h("p", {}, say(`session.why_${next.why}`));
  if (!next.gain) return [reason];
  const { gain } = next;
  const finding = kb.findings.get(gain.option.finding);
  const leaders = (pairs) => pairs.map(([c, p]) => `${kb.causes.get(c).says} ${percent(p)}`).join(", ");
  return [
    reason,
    h("p", {}, `It costs about ${general(gain.minutes)} min and is expected to save ${fixed(gain.saves, 0)} min of `
      + `repair work; it tells ${fixed(gain.bits, 2)} bit. It separates causes by: ${finding.says}.`),
    list(whyThisCheck(kb, conclusion).map((p) =>
      `${stateSays(kb, finding.id, p.state)} (${percent(p.probability)}): then ${leaders(p.leaders)}`)),
  ];
}

function likelyText(kb, { session, conclusion }) {
  const leaders = ranked(conclusion.belief).slice(0, SHOWN_CAUSES);
  return [
    h("ol", { class: "likely" }, leaders.map(([c, p]) =>
      h("li", {}, bar(p), `${kb.causes.get(c).says}: ${likelySays(p)}`))),
    fitText(kb, session, conclusion),
    weightsText(kb, summarise(kb, session, conclusion).ranked[0]),
    rulesText(kb, conclusion),
  ];
}

// Nothing while the answers fit together; else the most surprising ones.
function fitText(kb, session, conclusion) {
  const surprising = unfitting(kb, conclusion).filter((d) => answerTo(session, d.check));
  if (!surprising.length) return null;
  return h("div", { class: "notice" },
    h("p", {}, h("b", {}, "CHECK "), "These answers do not fit together well; what follows from them is less sure "
      + "than it looks. Most surprising, check them again:"),
    list(surprising.map((d) => askText(kb.checks.get(d.check), session.setup.role))));
}

// Weights of evidence of the leader against its runner-up, in the order asked; they add up.
function weightsText(kb, leader) {
  const decibans = (x) => `${x < 0 ? "−" : "+"}${fixed(Math.abs(x), 1)} dB`;
  const steps = leader.steps.filter((s) => Math.abs(s.decibans) >= 0.05);
  const rule = (s) => (s.settledBy ? ` (settled by rule: ${kb.rules.get(s.settledBy).says})` : "");
  const total = leader.start + sum(leader.steps.map((s) => s.decibans));
  return [
    h("h3", {}, "How the leader came to lead"),
    h("p", {}, `${leader.cause.says} against ${kb.causes.get(leader.rival).says}, in decibans (10 dB = ten to one):`),
    list([
      `${decibans(leader.start)}: how common they are, and the complaint`,
      ...steps.map((s) => `${decibans(s.decibans)}: ${findingSays(kb, s)}${rule(s)}`),
      `${decibans(total)} in all`,
    ]),
  ];
}

const findingSays = (kb, { finding, state }) =>
  `${kb.findings.get(finding).says}: ${stateSays(kb, finding, state)}`;

function rulesText(kb, { known, after }) {
  const rules = after.firings.map((f) => {
    const { says, source } = kb.rules.get(f.rule);
    const because = f.premises.map(([name, value]) => `${name} = ${value}`).join(", ");
    return `${says} Because ${because}. [${kb.sources.get(source).cite}]`;
  });
  const computed = [...known.outcomes.values()].map((o) => `Computed: ${o.says}`);
  if (!rules.length && !computed.length) return null;
  return [h("h3", {}, "Calculations and rules"), list([...computed, ...rules])];
}

function answersText(app, visit) {
  const { kb } = app;
  const { session, conclusion } = visit;
  const role = session.setup.role;
  const rows = given(session).map((a) => {
    const check = kb.checks.get(a.check);
    const asked = askText(check, role);
    const mark = conclusion.stale.includes(a.check) ? " (no longer counted)" : "";
    return [`${asked} - ${answerSays(check, a, role)}${originText(a, role)}${mark} `,
      !session.outcome && button("Change", () => app.change(a.check), { "aria-label": `Change: ${asked}` })];
  });
  return [
    pair("Complaint", kb.complaints.get(session.complaint).says),
    session.words && pair("In the site's words", session.words),
    !session.outcome && complaintChange(app, session),
    list(rows, "ol"),
    [...conclusion.known.outcomes.values()].map((o) => h("p", {}, `Computed: ${o.says}`)),
  ];
}

function originText(answer, role) {
  const says = originSays(check, answer, role);
  return says && ` [${says}]`;
}

function complaintChange(app, session) {
  const options = byCommonness(app.kb).map((c) => [c, app.kb.complaints.get(c).says]);
  const { input, row } = select("Change the complaint", options, session.complaint);
  return form(() => app.send({ event: "complain", complaint: input.value }), row,
    h("button", { type: "submit" }, "Change the complaint"));
}
