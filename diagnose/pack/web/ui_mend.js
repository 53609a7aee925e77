// After a conclusion: repair, proof, return to service, the dispatch sheet, the end of the visit.

function afterResult(app, visit) {
  const { session } = visit;
  const follow = mayFollow(app.kb, session);
  return h("section", { "aria-label": "What next" },
    h("h2", {}, "What next"),
    follow.ask_on ? h("p", {}, say("session.why_nothing_left"))
      : button("Go on asking", () => app.send({ event: "ask_on" })),
    repairForm(app, visit),
    session.setup.role === "help_desk" ? endOfCall(app, visit) : returnToService(app, visit),
    fold("sheet", "Dispatch sheet, for whoever is sent", () => sheetView(app, visit)));
}

function repairForm(app, { session, conclusion }) {
  const { kb } = app;
  const summary = summarise(kb, session, conclusion);
  const causes = unique([...summary.order, ...summary.ranked.map((r) => r.cause.id)]);
  const options = causes.filter((c) => c !== kb.settings.outside_cause).map((c) => [c, kb.causes.get(c).says]);
  const cause = select("Which remedy was carried out?", options);
  const note = field("What was done, in a few words");
  const [by, row] = doerBox(app, session, cause.input);
  const warning = h("p", { class: "problem", role: "alert" });
  const refresh = () => {
    warning.textContent = kb.causes.get(cause.input.value)?.remedy.hides_fault
      ? "This only hides the fault. Note when the real repair is due." : "";
  };
  cause.input.addEventListener("change", refresh);
  refresh();
  const submit = () => {
    const event = { event: "repaired", cause: cause.input.value, note: typedIn(note.input), by: by() };
    const no = refusal(kb, session, event);
    if (no) warning.textContent = `Not possible: ${no.says}`;
    else app.send(event);
  };
  return h("details", {}, h("summary", {}, "A remedy was carried out"),
    form(submit, cause.row, note.row, row, warning,
      h("button", { type: "submit", class: "main" }, "Note the repair")));
}

// Who carried it out; asked where it cannot have been whoever has the visit, but can have been another.
function doerBox({ kb }, session, input) {
  const other = () => {
    const may = kb.causes.has(input.value) ? doersOf(kb, session, input.value) : [];
    return may.includes("") ? "" : may[0] ?? "";
  };
  const row = h("div", {});
  const refresh = () => {
    const who = other();
    row.replaceChildren(...(who ? [choice("checkbox", "by", who, say(`session.done_by_${who}`))] : []));
  };
  input.addEventListener("change", refresh);
  refresh();
  return [() => row.querySelector("input:checked")?.value ?? "", row];
}

// The proof that is owed comes before anything else.
function proofView(app, { session }) {
  const cause = app.kb.causes.get(pendingRepair(session).cause);
  const reading = field("What did you see or read?");
  const send = (passed) => () => app.send({ event: "proved", passed, reading: typedIn(reading.input) });
  return [h("section", { class: "card", "aria-labelledby": "top" },
    h("h2", { id: "top", tabindex: "-1" }, "Proof of the repair"),
    h("p", {}, h("b", {}, cause.says)),
    h("p", {}, `${cause.proof} (about ${general(cause.proof_minutes)} min)`),
    h("p", {}, "The visit cannot end in service without it."),
    reading.row,
    h("div", { class: "row" },
      button("Proof passed", send(true), { class: "main" }), button("Proof failed", send(false))))];
}

function provedView(app, visit) {
  return [h("section", { class: "card", "aria-labelledby": "top" },
    h("h2", { id: "top", tabindex: "-1" }, "Proved. Is anything still wrong at this gate?"),
    h("p", {}, "If not: back into service below."),
    button("Yes, something else is wrong", () => app.send({ event: "another_fault" }))),
  afterResult(app, visit)];
}

function returnToService(app, { session }) {
  const { kb } = app;
  const inService = () => app.send({ event: "close", outcome: "in_service" });
  const items = checklist(kb, session);
  const open = openItems(kb, session);
  const ticks = new Map(session.ticks.map((t) => [t.item, t]));
  return h("details", { open: session.ticks.length > 0 || session.repairs.length > 0 },
    h("summary", {}, "Return to service"),
    items.length ? items.map((item) => itemForm(app, item, ticks.get(item.id), open.some((o) => o.id === item.id)))
      : h("p", {}, "Nothing was touched and nothing ordered: nothing has to be proved."),
    endingsOf(kb, session).in_service ? h("p", {}, `${open.length} still open.`)
      : button("Everything is proved: back in service", inService, { class: "main due" }),
    reasonForm(app, "left_out", "Leave it OUT of service: why? (for the record and the tag)", "Leave out of service"));
}

function itemForm(app, item, tick, open) {
  const reading = field("What you saw or read; the reason for 'not applicable'", { value: tick?.reading ?? "" });
  const send = (result) => () => {
    const taken = app.send({ event: "ticked", item: item.id, result, reading: typedIn(reading.input) });
    if (taken && result !== "fail" && !app.visit.conclusion.stopWork.length) document.querySelector(".due")?.focus();
  };
  const buttons = [["pass", "Pass"], ["fail", "Fail"], ["na", "Not applicable"]];
  return h("div", { class: `card ${open ? "due" : ""}`, role: "group", "aria-label": item.says, tabindex: "-1" },
    h("p", {}, item.protective && h("b", {}, "PROTECTIVE "), item.says),
    h("p", { class: "small" }, item.why),
    reading.row,
    h("div", { class: "row" }, buttons.map(([result, says]) =>
      button(says, send(result), { "aria-pressed": String(tick?.result === result) }))));
}

function reasonForm(app, outcomeWord, asks, says) {
  const reason = field(asks);
  return form(() => app.send({ event: "close", outcome: outcomeWord, reason: typedIn(reason.input) }),
    reason.row, h("button", { type: "submit" }, says));
}

function endOfCall(app, { session }) {
  const proven = !endingsOf(app.kb, session).solved_on_phone;
  const asks = touchedProtection(app.kb, session)
    ? "Who proves the protective function on site with a test piece, and when?" : "Anything for the record (optional)";
  return h("details", { open: proven }, h("summary", {}, "End of the call"),
    proven && reasonForm(app, "solved_on_phone", asks, "Solved on the phone"),
    reasonForm(app, "dispatched", "Send somebody: why?", "Send somebody"));
}

function sheetView(app, visit) {
  const { kb } = app;
  const { session } = visit;
  const sheet = dispatchSheet(app.reasoner, session, visit.conclusion);
  return [
    session.site && pair("Site", session.site),
    pair("Complaint", kb.complaints.get(session.complaint).says),
    session.words && pair("In the caller's own words", session.words),
    session.reason && pair("Why somebody goes", session.reason),
    sheet.stopWork.map((o) => kb.cautions.get(o)).map(({ says, tag }) =>
      h("p", { class: "caution" }, `${says} Tag: ${tag}`)),
    h("h3", {}, "Likely causes"), list(sheet.causes.map(([c, p]) => `${kb.causes.get(c).says} (${percent(p)})`)),
    h("h3", {}, "Bring"),
    list(sheet.bring.map((b) => `${b.says} (${b.part ? "part" : "tool"}, wanted ${percent(b.wanted)})`)),
    h("h3", {}, "First checks on arrival"), list(sheet.firstChecks.map((c) => kb.checks.get(c).ask), "ol"),
    h("h3", {}, "Access and people"),
    list([...sheet.access.map((g) => kb.access.get(g).says), ...(sheet.electrician ? ["a licensed electrician"] : [])]),
    h("h3", {}, "Safety"), list(sheet.cautions.map((c) => kb.cautions.get(c).says)),
  ];
}

function closedView(app, visit) {
  const { session } = visit;
  const tag = `OUT OF SERVICE - ${session.reason} (date, name, phone). Do not switch to automatic.`;
  return [h("section", { class: "card", "aria-labelledby": "top" },
    h("h2", { id: "top", tabindex: "-1" }, say(`session.ended_${session.outcome}`)),
    session.reason && pair("Reason", session.reason),
    session.outcome === "left_out" && [pair("Tag", tag),
      list(openItems(app.kb, session).map((item) => `Still open: ${item.says}`))],
    session.outcome === "dispatched" && sheetView(app, visit))];
}
