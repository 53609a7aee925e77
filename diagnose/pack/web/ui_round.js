// What is asked in one go: looks, each with what it is when all is well chosen already; or what a measurement needs.

const SINGLY = "gate-diagnose.singly"; // of this tab: the visits whose questions are asked one at a time

// Over a reload too, where the browser keeps that.
function singlyKept() {
  try {
    return new Set(JSON.parse(sessionStorage.getItem(SINGLY) ?? "[]"));
  } catch {
    return new Set();
  }
}

function askSingly(app, id) {
  app.singly.add(id);
  try {
    sessionStorage.setItem(SINGLY, JSON.stringify([...app.singly]));
  } catch { /* until the next reload then */ }
  app.draw();
}

// The looks or the facts that are asked together; null where one question stands alone.
function roundView(app, visit) {
  if (asksAlone(app, visit)) return null;
  const [looks, facts] = [looksOf, factsOf].map((of) => of(app.kb, visit.session, visit.conclusion));
  if (looks) {
    const words = [say("web.look_round"), say("web.look_round_how", looks), say("web.looked")];
    return roundForm(app, visit, words, looks.stand, looks.looks.map(lookField));
  }
  const words = facts && [say("web.facts"), say("web.facts_how", facts), say("web.facts_take")];
  return facts && roundForm(app, visit, words, facts.stand, facts.facts.map(factField));
}

const openKey = ({ id }, check) => `${id} ${check}`;
const asksAlone = (app, visit) =>
  app.singly.has(visit.id) || app.leftOpen.has(openKey(visit, visit.conclusion.next.check));

// The checks that the screen asks when nothing is changed: none, one, or all that are done in one go.
function checksAsked(app, visit) {
  const { check, beside } = visit.conclusion.next;
  if (visit.session.concluded || !check) return [];
  return asksAlone(app, visit) ? [check] : [check, ...beside];
}

// Everything on one form.
function roundForm(app, visit, [says, how, take], stand, fields) {
  const problem = h("div", { role: "alert", class: "problem", id: "problem" });
  const questions = fields.map((f) => f.question);
  const openings = unique(questions.map((q) => q.first));
  return [
    cautionsView(cautionsTogether(questions)),
    openings.map((first) => first && h("p", { class: "notice" }, first)),
    h("section", { "aria-labelledby": "top", class: "card" },
      h("h2", { id: "top", tabindex: "-1" }, says),
      h("p", { class: "facts" }, how),
      stand && h("p", {}, stand),
      form(() => takeRound(app, visit, fields, problem), fields.map((f) => f.rows), problem,
        h("button", { type: "submit", class: "main" }, take))),
    button(say("web.one_at_a_time"), () => askSingly(app, visit.id)),
    stripsView(knownStrips(app.kb, visit.session, visit.conclusion)),
  ];
}

// Those of all the checks, each once.
function cautionsTogether(questions) {
  const once = (kind) => [...new Map(questions.flatMap((q) => q.cautions[kind]).map((c) => [c.id, c])).values()];
  return { special: once("special"), general: once("general") };
}

function lookField({ question, help, normal, well }) {
  const others = [...question.options].filter(([option]) => option !== normal);
  return chosenField(question, help, [[normal, well], ...others, [NO_ANSWER[0], say("web.dont_know")]]);
}

function factField([question, help]) {
  if (question.reading) return typedField(question, help);
  return chosenField(question, help, [[NO_ANSWER[0], say("web.dont_know")], ...question.options]);
}

// The first of the answers is chosen already.
function chosenField(question, help, answers) {
  const { input, row } = select(question.asked, answers, answers[0][0]);
  return { question, input, rows: [row, howFold(question, help)], read: () => ({ value: input.value }) };
}

function typedField(question, help) {
  const { keys } = question.reading;
  const { input, row } = field(question.asked,
    { maxlength: 60, inputmode: keys, "aria-describedby": `example-${question.check}` });
  input.before(h("p", { class: "facts", id: `example-${question.check}` }, question.reading.says));
  const none = () => ["", "?"].includes(typedIn(input)); // '?' alone: nobody can tell, as at the terminal
  const read = (check) => (none() ? { value: NO_ANSWER[0] } : parseQuantity(check, input.value));
  return { question, input, rows: [row, howFold(question, help)], read };
}

const howFold = ({ check }, help) => fold(`how.${check}`, say("present.how_to"), () => helpView(help));

// In the order of the form. An unusual reading is left open, to be asked by itself.
async function takeRound(app, visit, fields, problem) {
  const found = readRound(app.kb, fields, problem);
  if (!found) return;
  const open = found.filter((f) => f.doubt);
  open.forEach(({ question }) => app.leftOpen.add(openKey(visit, question.check)));
  const replies = found.filter((f) => !f.doubt)
    .map(({ question: { check }, value, sure = true }) => ({ event: "reply", check, value, sure }));
  const says = open.map(({ question: { asked }, doubt }) => say("page.left_open", { asked, doubt }));
  if (await app.send(...replies)) app.say(says.join(" "));
}

// What each field says; null, with nothing taken, where one cannot be read, which is said.
function readRound(kb, fields, problem) {
  problem.replaceChildren();
  const found = [];
  for (const { question, input, read } of fields) {
    try {
      found.push({ question, ...read(kb.checks.get(question.check)) });
    } catch (error) {
      if (!(error instanceof AnswerError)) throw error;
      problem.append(h("p", {}, say("web.field_wrong", { asked: question.asked, why: error.message })));
      input.focus();
      return null;
    }
  }
  return found;
}
