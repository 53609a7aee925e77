// After a conclusion: repair, proof, return to service, the sheet for whoever is sent, the end of the visit.

function afterResult(app, { session, conclusion }) {
  const next = nextOf(app.kb, session, conclusion);
  return h("section", { "aria-label": say("page.what_next") },
    h("h2", {}, say("page.what_next")),
    next.follow.ask_on ? h("p", {}, next.follow.ask_on)
      : !next.proved && button(say("page.ask_more"), () => app.send(moreOf(session))),
    repairForm(app, session, next.candidates),
    session.setup.role !== "help_desk" && returnToService(app, session, next),
    waysView(app, next.ways),
    fold("sheet", say("present.sheet"), () => sheetView(sheetOf(app.reasoner, session, conclusion))));
}

function repairForm(app, session, candidates) {
  const cause = select(say("present.which_remedy"), candidates.map((c) => [c.cause, c.says]));
  const note = field(say("present.what_was_done"));
  const name = field(`${say("present.who_mended")} (${say("page.may_stay_empty")})`);
  const [doer, warning] = [h("div", {}), h("p", { class: "problem", role: "alert" })];
  const refresh = () => {
    const chosen = candidates.find((c) => c.cause === cause.input.value);
    warning.textContent = chosen?.warning ?? "";
    const doers = chosen?.doers ?? [];
    const kind = doers.length > 1 ? "radio" : "checkbox";
    doer.replaceChildren(...doers.map(({ by, says }) => choice(kind, "by", by, says)), ...(doers.length ? [name.row] : []));
  };
  cause.input.addEventListener("change", refresh);
  refresh();
  const submit = () => {
    const by = doer.querySelector("input:checked")?.value ?? "";
    const named = by ? { name: typedIn(name.input) } : {};
    const event = { event: "repaired", cause: cause.input.value, note: typedIn(note.input), by, ...named };
    const no = refusal(app.kb, session, event);
    if (no) warning.textContent = say("page.not_possible", { why: no.says });
    else app.send(event);
  };
  return h("details", {}, h("summary", {}, say("page.was_repaired")),
    form(submit, cause.row, note.row, doer, warning,
      h("button", { type: "submit", class: "main" }, say("page.note_repair"))));
}

// The proof that is owed comes before anything else.
function proofView(app, { session }) {
  const owed = owedOf(app.kb, session);
  const reading = field(say("present.what_was_seen"));
  const send = (passed) => async () => {
    const seen = typedIn(reading.input);
    const noted = await app.send({ event: "proved", passed, reading: seen });
    if (!noted || passed || !listened(app.kb, app.visit.session, seen).lines.length) return;
    app.telling = seen; // what was seen instead is a finding too
    app.draw();
  };
  return [h("section", { class: "card", "aria-labelledby": "top" },
    h("h2", { id: "top", tabindex: "-1" }, say("present.proof_of_repair")),
    h("p", {}, h("b", {}, owed.says)),
    h("p", {}, say("present.proof_takes", { proof: owed.proof, minutes: owed.minutes })),
    h("p", {}, say("page.proof_needed")),
    reading.row,
    h("div", { class: "row" },
      button(say("page.proof_passed"), send(true), { class: "main" }), button(say("page.proof_failed"), send(false)))),
  fold("unproved", say("page.end_without"), () => waysView(app, waysToEnd(app.kb, session)))];
}

function provedView(app, visit) {
  return [h("section", { class: "card", "aria-labelledby": "top" },
    h("h2", { id: "top", tabindex: "-1" }, say("present.anything_wrong")),
    h("p", {}, say("page.nothing_wrong")),
    button(say("page.something_wrong"), () => app.send({ event: "another_fault" }))),
  afterResult(app, visit)];
}

function returnToService(app, session, next) {
  const lines = () => [
    next.lines.length ? next.lines.map((line) => lineForm(app, line)) : h("p", {}, say("page.nothing_to_prove")),
    stillOpen(next).length > 0 && h("p", {}, say("present.lines_to_go", { n: stillOpen(next).length }))];
  return fold("service", say("present.return_to_service"), lines, session.ticks.length > 0 || session.repairs.length > 0);
}

function lineForm(app, { item, says, why, protective, done, reading: seen, open }) {
  const reading = field(say("page.seen_or_reason"), { value: seen });
  const send = (result) => async () => {
    const taken = await app.send({ event: "ticked", item, result, reading: typedIn(reading.input) });
    if (taken && result !== "fail" && !app.visit.conclusion.stopWork.length) document.querySelector(".due")?.focus();
  };
  return h("div", { class: `card ${open ? "due" : ""}`, role: "group", "aria-label": says, tabindex: "-1" },
    h("p", {}, protective && h("b", {}, say("present.protective"), " "), says),
    h("p", { class: "small" }, why),
    reading.row,
    h("div", { class: "row" }, ["pass", "fail", "na"].map((result) =>
      button(say(`page.tick_${result}`), send(result), { "aria-pressed": String(done === result) }))));
}

// How the visit ends: every way that is possible now, each with what is asked for it.
function waysView(app, ways) {
  return h("section", { "aria-label": say("present.how_it_ends") },
    h("h3", {}, say("present.how_it_ends")),
    ways.filter((way) => !way.refused || way.prove).map((way) => wayForm(app, way)));
}

function wayForm(app, { outcome, says, refused, asked, prove }) {
  if (prove) return h("p", {}, `${says}: ${refused}`);
  const fields = asked.map((each) => [each.name, endField(each)]);
  const send = () => app.send({
    event: "close", outcome, ...Object.fromEntries(fields.map(([name, { input }]) => [name, typedIn(input)])),
  });
  const made = form(send, fields.map(([, { row }]) => row),
    h("button", { type: "submit", ...(outcome === "in_service" && { class: "main due" }) }, say("page.end_so")));
  return h("details", { open: outcome === "in_service" }, h("summary", {}, says), made);
}

function endField({ name, says, needed, options }) {
  if (options.size) return select(says, [...options]);
  return field(needed ? says : `${says} (${say("page.may_stay_empty")})`, name === "due" ? { type: "date" } : {});
}

// Something for the record in a person's own words.
function noteForm(app) {
  const text = field(say("page.note_text"));
  const corrects = choice("checkbox", "corrects", "correction", say("page.note_corrects"));
  const send = async () => {
    const kind = corrects.querySelector("input").checked ? "correction" : "remark";
    if (await app.send({ event: "noted", text: typedIn(text.input), kind })) app.say(say("page.noted"));
  };
  return form(send, text.row, corrects, h("button", { type: "submit" }, say("page.note_down")));
}

function sheetView({ about, reason, orders, answers, causes, bring, first_checks: checks, access, cautions, strips,
  own, meanwhile }) {
  const part = (key, items, tag) => items.length > 0 && [h("h3", {}, say(key)), list(items, tag)];
  return [
    about.site && pair(say("present.site"), about.site),
    pair(say("present.complaint"), about.complaint),
    about.words && pair(say("present.own_words"), about.words),
    reason && pair(say("present.why_somebody_goes"), reason),
    orders.map(([says, tag]) => h("div", { class: "caution" }, h("p", {}, says), pair(say("present.tag"), tag))),
    part("present.likely_causes", causes),
    stripsView(strips),
    part("present.bring", bring.length ? bring : [say("present.nothing_special")]),
    part("present.caller_may", own),
    part("present.meanwhile", meanwhile),
    part("present.first_checks", checks, "ol"),
    part("present.access_and_people", access),
    part("present.safety", cautions),
    part("present.answers", answers),
  ];
}

function closedView(app, { session, conclusion }) {
  const ending = endingOf(app.kb, session, openItems(app.kb, session));
  return [h("section", { class: "card", "aria-labelledby": "top" },
    h("h2", { id: "top", tabindex: "-1" }, ending.says),
    ending.facts.map(([label, text]) => pair(label, text)),
    ending.tag && pair(say("present.tag"), ending.tag),
    ending.still_open.map((says) => pair(say("present.still_open"), says)),
    ending.sheet && sheetView(sheetOf(app.reasoner, session, conclusion)))];
}
