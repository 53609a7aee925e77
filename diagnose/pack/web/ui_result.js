// Stop-work and other notices, and the conclusion: ranked causes with evidence, test, remedy, proof and cautions.

// Every stop-work order that rules raised, before everything else.
function stopWorkView(kb, { conclusion, session }) {
  const inService = session.outcome === "in_service";
  return conclusion.stands.map((order) => {
    const { says, tell, tag } = kb.cautions.get(order);
    const confirmed = !conclusion.stopWork.includes(order);
    const bare = says.replace(/^STOP WORK: /u, "");
    const short = bare.split(". ")[0].replace(/\.+$/u, "");
    if (confirmed && inService) return h("p", { class: "stop closed" }, `Stop-work was given on this visit: ${short}.`);
    if (confirmed) return h("p", { class: "stop standing" }, h("b", {}, `Stop-work still stands: ${short}.`));
    return h("section", { class: "stop", role: "alert", "aria-label": "Stop work" },
      h("h2", {}, "STOP WORK"), h("p", {}, bare[0].toUpperCase() + bare.slice(1)), pair("Tell", tell), pair("Tag", tag),
      h("p", {}, h("b", {}, "NOT CONFIRMED SAFE YET.")));
  });
}

// What rules say out loud: cautions, contradictions, an answer that does not fit, answers that no longer count.
function noticesView(app, { session, conclusion }) {
  const { kb } = app;
  const change = (check) => button("Look again", () => app.change(check),
    { "aria-label": `Look again: ${askText(kb.checks.get(check), session.setup.role)}` });
  const doubts = conclusion.after.contradictions.map((r) => kb.rules.get(r).then.contradiction);
  const misfit = lookAgain(kb, conclusion);
  const ask = (check) => askText(kb.checks.get(check), session.setup.role);
  return [
    conclusion.after.cautions.map((c) => h("p", { class: "caution" }, h("b", {}, "CAUTION "), kb.cautions.get(c).says)),
    doubts.map((d) => h("p", { class: "notice" }, h("b", {}, "CHECK "), `${d.says} `,
      d.recheck.filter((c) => answerTo(session, c)).map(change))),
    misfit && h("p", { class: "notice" }, h("b", {}, "CHECK "),
      `'${ask(misfit.check)}' does not fit the other answers (wrong with ${percent(misfit.wrong)} by the numbers). `,
      change(misfit.check)),
    conclusion.stale.map((c) => h("p", { class: "notice" },
      `No longer counted, because its condition no longer holds: ${ask(c)}`)),
  ];
}

function resultView(app, visit) {
  const { kb } = app;
  const { session, conclusion } = visit;
  const summary = summarise(kb, session, conclusion);
  const told = new Set();
  return [
    h("h2", { id: "top", tabindex: "-1" }, "Conclusion"),
    h("p", {}, conclusion.next.check ? "You asked to conclude." : say(`session.why_${conclusion.next.why}`)),
    summary.outside && escalation(kb, session, summary),
    summary.designed && h("p", {},
      "The sensor seems to do what it was set up to do. Show the site why before changing anything."),
    summary.ranked[0].probability < STANDS_OUT && h("p", { class: "notice" },
      "Nothing stands out yet. Prove a cause by its test before any remedy, or go on asking."),
    session.setup.role === "help_desk" && h("p", { class: "notice" },
      "Tests and remedies are for whoever may do them on site, not for the caller."),
    h("ol", { class: "ranked" }, summary.ranked.map((r, i) => {
      const full = i < 2 && r.cause.id !== kb.settings.outside_cause;
      return h("li", { class: "card" }, rankedView(app, i + 1, r, full ? told : null));
    })),
    orderView(kb, summary),
    h("p", { class: "small" }, "This is decision support, not a conformity statement. Local codes and licensed practice "
      + "decide. Prove every protective function again after any change."),
  ];
}

// In full with the cautions already told cut short; only the test when `told` is null.
function rankedView(app, number, { cause, probability, rival, evidence }, told) {
  const { kb } = app;
  const head = [h("h3", {}, `${number}. ${cause.says} - ${likelySays(probability)}`), bar(probability)];
  if (!told) return [head, pair("Test", cause.test)];
  return [
    head,
    h("p", {}, cause.explain),
    evidenceView(kb, evidence, rival),
    pair("Test", cause.test),
    remedyCautions(kb, cause, told),
    remedyView(app, cause),
    pair("Proof", `${cause.proof} (about ${general(cause.proof_minutes)} min)`),
    h("p", { class: "small" }, `Source: ${kb.sources.get(cause.source).cite}`),
  ];
}

function evidenceView(kb, evidence, rival) {
  const shown = (sign) => evidence.filter((w) => w.decibans * sign >= NOTICEABLE_DECIBANS).slice(0, 4);
  const row = (word) => (w) => `${word}: ${kb.findings.get(w.finding).says}: ${stateSays(kb, w.finding, w.state)} `
    + `(${w.decibans < 0 ? "−" : "+"}${fixed(Math.abs(w.decibans), 0)} dB)`;
  if (!evidence.some((w) => Math.abs(w.decibans) >= NOTICEABLE_DECIBANS)) return null;
  return [
    list([...shown(1).map(row("For")), ...shown(-1).map(row("Against"))]),
    h("p", { class: "small" }, `(evidence weighed against: ${kb.causes.get(rival).says})`),
  ];
}

// Of the access group, the cause and its remedy; in full the first time.
function remedyCautions(kb, cause, told) {
  const access = kb.access.get(cause.remedy.access)?.cautions ?? [];
  return unique([...access, ...cause.cautions, ...cause.remedy.cautions]).map((c) => {
    const { says } = kb.cautions.get(c);
    const text = told.has(c) ? `as above: ${says.split(". ")[0].replace(/\.+$/u, "")}.` : says;
    told.add(c);
    return h("p", { class: "caution" }, h("b", {}, "CAUTION "), text);
  });
}

function remedyView(app, { remedy }) {
  const { kb } = app;
  const access = remedy.access ? `, after: ${kb.access.get(remedy.access).says}` : "";
  return [
    pair("Remedy", `about ${general(remedy.minutes)} min, ${say(`session.who_${remedy.who}`)}${access}`),
    list(remedy.steps, "ol"),
    remedy.parts.length > 0 && pair("Parts", remedy.parts.join("; ")),
    remedy.touches.map((t) => pair("Afterwards", kb.proofs.get(t))),
  ];
}

function orderView(kb, { pairs, order }) {
  const says = (c) => kb.causes.get(c).says;
  const minutes = (c) => general(kb.causes.get(c).remedy.minutes + kb.causes.get(c).proof_minutes);
  return [
    pairs.slice(0, 2).map(([causes, p]) =>
      pair("Two faults at once", `${causes.map(says).join(" AND ")} (${percent(p)})`)),
    order.length > 1 && [
      h("h3", {}, "Try the remedies in this order, and prove each"),
      list([...order.slice(0, 4).map((c) => `${says(c)} (${minutes(c)} min)`), "call the specialist"], "ol"),
    ],
  ];
}

// What to pass on when nothing on the list fits.
function escalation(kb, session, summary) {
  const { role } = session.setup;
  const answers = given(session).filter(saysSomething).map((a) => {
    const check = kb.checks.get(a.check);
    return `${askText(check, role)} - ${answerSays(check, a, role)}`;
  });
  const nearest = summary.ranked.slice(1, 3).map((r) => `${r.cause.says} (${percent(r.probability)})`).join(", ");
  return h("section", { class: "notice", "aria-label": "For a specialist" },
    h("p", {}, h("b", {}, "This does not look like anything on the list. Do not replace parts on a guess.")),
    h("p", {}, "Pass on to a specialist, with this summary:"),
    list([
      `Complaint: ${kb.complaints.get(session.complaint).says}`,
      session.words && `In the site's words: ${session.words}`,
      ...answers,
      nearest && `Nearest on the list: ${nearest}`,
    ].filter(Boolean)));
}
