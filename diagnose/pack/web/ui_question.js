// One check: cautions before it, how to do it, and its answers.

function questionView(app, { session, conclusion }, check, changing) {
  const asked = questionOf(app.kb, session, check);
  return [
    cautionsView(asked.cautions),
    asked.first && h("p", { class: "notice" }, asked.first),
    h("section", { "aria-labelledby": "top", class: "card" },
      h("h2", { id: "top", tabindex: "-1" }, `${asked.number}. ${asked.asked}`),
      asked.stand && h("p", {}, asked.stand),
      h("p", { class: "facts" }, asked.costs.join("; ")),
      asked.barred && h("p", { class: "problem" }, say("page.not_possible", { why: asked.barred })),
      changing && asked.now && h("p", {}, say("present.now", { said: asked.now }), " ",
        button(say("page.keep"), () => app.change(""))),
      asked.reading ? quantityForm(app, check, asked.reading) : optionButtons(app, asked),
      elseForm(app, check),
      noAnswerButtons(app, check)),
    stripsView(knownStrips(app.kb, session, conclusion)),
    fold("help", say("present.how_to"), () => helpView(helpOf(app.kb, session, check))),
  ];
}

function optionButtons(app, { check, options }) {
  const unsure = unsureBox();
  const answer = (value) => app.send({ event: "reply", check, value, sure: !unsure.input.checked });
  return [
    h("div", { class: "options", role: "group", "aria-labelledby": "top" },
      [...options].map(([value, says]) => button(says, () => answer(value), { class: "option" }))),
    unsure.row,
  ];
}

function unsureBox() {
  const row = choice("checkbox", "unsure", "unsure", say("page.not_sure"));
  return { row, input: row.querySelector("input") };
}

// No answer fits: the person's own words are kept as the answer, and what else is heard in them is shown to be taken.
function elseForm(app, check) {
  const words = field(say("web.else"), { maxlength: 600 });
  const keep = async () => {
    const note = typedIn(words.input);
    if (!await app.send({ event: "reply", check: check.id, value: SOMETHING_ELSE, note })) return;
    const { lines, dangers } = listened(app.kb, app.visit.session, note);
    app.telling = lines.length || dangers.length ? note : "";
    if (app.telling) app.draw();
  };
  return form(keep, words.row, h("button", { type: "submit" }, say("web.keep_words")));
}

function noAnswerButtons(app, check) {
  const answer = (value) => () => app.send({ event: "reply", check: check.id, value });
  return h("div", { class: "row", role: "group", "aria-label": say("page.without_answer") },
    NO_ANSWER.filter((value) => value !== SOMETHING_ELSE).map((value) => button(say(`page.reply_${value}`), answer(value))));
}

function quantityForm(app, check, reading) {
  const unsure = unsureBox();
  const typed = field(reading.says, { maxlength: 60, inputmode: reading.keys });
  const problem = h("div", { role: "alert", class: "problem", id: "problem" });
  typed.input.setAttribute("aria-describedby", "problem");
  const send = ({ value, sure }) => app.send({ event: "reply", check: check.id, value, sure });
  return form(() => readQuantityForm({ check, typed, unsure, problem, send, tell: app.say }),
    typed.row, unsure.row, problem, h("button", { type: "submit", class: "main" }, say("page.answer")));
}

function readQuantityForm({ check, typed, unsure, problem, send, tell }) {
  problem.replaceChildren();
  try {
    const read = parseQuantity(check, typed.input.value);
    const parsed = { ...read, sure: read.sure && !unsure.input.checked };
    const understood = formatReading(parsed.value, check.unit) + (parsed.note ? ` (${parsed.note})` : "");
    const keep = async () => await send(parsed) && tell(say("page.understood", { understood }));
    if (!parsed.doubt) return keep();
    problem.append(h("p", {}, say("page.keep_doubtful", { doubt: parsed.doubt })), button(say("page.yes_keep"), keep));
  } catch (error) {
    if (!(error instanceof AnswerError)) throw error;
    problem.append(h("p", {}, say("page.not_understood", { why: error.message })));
    typed.input.focus();
  }
  return false;
}

// How to do it, what good and bad look like, a picture, this device's lamps and the source.
const helpView = (told) => [
  pictureView(told.picture),
  h("p", {}, told.says), pair(say("present.good"), told.good), pair(say("present.bad"), told.bad),
  told.cautions.map((says) => pair(say("present.caution"), says)),
  told.lamps.map(([lamp, says]) => pair(lamp, says)),
  pair(say("present.source"), told.source),
];

// Drawn into the page, so that its title and description are read aloud. The knowledge check lets only plain drawing
// through: no script, no style, no link, nothing from outside.
function pictureView(picture) {
  if (!picture) return null;
  const svg = new DOMParser().parseFromString(picture, "image/svg+xml").documentElement;
  return h("figure", {}, document.importNode(svg, true));
}
