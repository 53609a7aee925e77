// One check: cautions before it, how to do it, and its answers.

function questionView(app, visit, check, changing) {
  const { kb } = app;
  const { session } = visit;
  const before = answerTo(session, check.id);
  const barred = barredNow(kb, session, check.id);
  return [
    cautionsBefore(kb, session, check),
    openingNotice(kb, session, check),
    h("section", { "aria-labelledby": "top", class: "card" },
      h("h2", { id: "top", tabindex: "-1" }, `${numberOf(session, check)}. ${askText(check, session.setup.role)}`),
      session.setup.role === "help_desk" && check.stand && h("p", {}, `Have them stand ${check.stand}.`),
      h("p", { class: "facts" },
        [`${general(check.minutes)} min`, ...check.tools.map((t) => kb.tools.get(t))].join("; ")),
      barred && h("p", { class: "problem" }, `Not possible: ${barred}`),
      changing && before && h("p", {}, `Now: ${answerSays(check, before, session.setup.role)}. `,
        button("Keep it", () => app.change(""))),
      check.kind === "quantity" ? quantityForm(app, check) : optionButtons(app, check, session.setup.role),
      noAnswerButtons(app, check)),
    fold("help", "How to do this check", () => helpFor(kb, session, check)),
  ];
}

function numberOf(session, check) {
  return [...given(session).map((a) => a.check), check.id].indexOf(check.id) + 1;
}

// New ones in full; those seen before on this visit folded, never gone.
function cautionsBefore(kb, session, check) {
  const seen = shownCautions(kb, session);
  const all = cautionsFor(kb, check);
  const fresh = all.filter((c) => !seen.has(c));
  const old = all.filter((c) => seen.has(c));
  return [
    fresh.length > 0 && h("section", { class: "caution", "aria-label": "Cautions" },
      fresh.map((c) => h("p", {}, h("b", {}, "CAUTION "), kb.cautions.get(c).says))),
    old.length > 0 && fold("cautions", `Cautions seen before (${old.length})`,
      () => list(old.map((c) => kb.cautions.get(c).says))),
  ];
}

function openingNotice(kb, session, check) {
  const access = kb.access.get(check.access);
  const shut = access && !openGroups(kb, given(session)).has(access.id);
  return shut ? h("p", { class: "notice" }, `First: ${access.says} (about ${general(access.minutes)} min).`) : null;
}

function optionButtons(app, check, role) {
  const unsure = unsureBox();
  const answer = (value) => app.send({ event: "reply", check: check.id, value, sure: !unsure.input.checked });
  const options = [...optionsOf(check, role === "help_desk")];
  return [
    h("div", { class: "options", role: "group", "aria-labelledby": "top" },
      options.map(([value, says]) => button(says, () => answer(value), { class: "option" }))),
    unsure.row,
  ];
}

function unsureBox() {
  const row = choice("checkbox", "unsure", "unsure", "I am not sure of this answer (tick first)");
  return { row, input: row.querySelector("input") };
}

function noAnswerButtons(app, check) {
  const words = { dont_know: "Don't know", cant_check: "Can't check this here", skip: "Leave this one out" };
  const answer = (value) => () => app.send({ event: "reply", check: check.id, value });
  return h("div", { class: "row", role: "group", "aria-label": "Without an answer" },
    Object.entries(words).map(([value, says]) => button(says, answer(value))));
}

function quantityForm(app, check) {
  const { wanted, example } = unitTable.bases.get(check.unit);
  const unsure = unsureBox();
  const typed = field(`In ${wanted}, for example ${example}`, { maxlength: 60 });
  const problem = h("div", { role: "alert", class: "problem", id: "problem" });
  typed.input.setAttribute("aria-describedby", "problem");
  const send = ({ value, sure }) => app.send({ event: "reply", check: check.id, value, sure });
  return form(() => readQuantityForm({ check, typed, unsure, problem, send, say: app.say }),
    typed.row, unsure.row, problem, h("button", { type: "submit", class: "main" }, "Answer"));
}

function readQuantityForm({ check, typed, unsure, problem, send, say }) {
  problem.replaceChildren();
  try {
    const read = parseQuantity(check, typed.input.value);
    const parsed = { ...read, sure: read.sure && !unsure.input.checked };
    const understood = formatReading(parsed.value, check.unit) + (parsed.note ? ` (${parsed.note})` : "");
    if (!parsed.doubt) return send(parsed) && say(`Understood: ${understood}`);
    const keep = () => send(parsed) && say(`Understood: ${understood}`);
    problem.append(h("p", {}, `${parsed.doubt}. Keep it?`), button("Yes, keep it", keep));
  } catch (error) {
    if (!(error instanceof AnswerError)) throw error;
    problem.append(h("p", {}, `Not understood: ${error.message}`));
    typed.input.focus();
  }
  return false;
}

// How to do it, what good and bad look like, a picture, this device's lamps and the source.
function helpFor(kb, session, check) {
  const asksLamp = check.ask.toLowerCase().includes("lamp");
  const lamps = [...session.setup.profile].filter(([name]) => asksLamp && name.startsWith("lamp."));
  return [
    pictureFor(kb, check),
    h("p", {}, check.help), pair("Good", check.good), pair("Bad", check.bad),
    cautionsFor(kb, check).map((c) => pair("Caution", kb.cautions.get(c).says)),
    lamps.map(([name, says]) => pair(`This device's ${name.slice(5)} lamp`, String(says))),
    pair("Source", kb.sources.get(check.source).cite),
  ];
}

// Drawn into the page, so that its title and description are read aloud. The knowledge check lets only plain drawing
// through: no script, no style, no link, nothing from outside.
function pictureFor(kb, check) {
  const text = kb.pictures.get(check.picture);
  if (!text) return null;
  const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  return h("figure", {}, document.importNode(svg, true));
}
