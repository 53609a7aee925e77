// The knowledge as it lies in the page -> records with every default filled in and every table as a Map.

class DiagnoseError extends Error {}
class AnswerError extends DiagnoseError {}
class CalculationError extends DiagnoseError {}
class SessionError extends DiagnoseError {}
class VisitError extends DiagnoseError {}

const SOMETHING_ELSE = "something_else"; // no answer of the check fits: what the person says is the note
const NO_ANSWER = ["dont_know", "cant_check", "skip", SOMETHING_ELSE];
const saysSomething = (answer) => !NO_ANSWER.includes(answer.value);
const worthShowing = (answer) => saysSomething(answer) || answer.value === SOMETHING_ELSE;
// The words where they are all that an answer says, else "".
const elseWords = (answer) => (answer?.value === SOMETHING_ELSE ? answer.note : "");
const madeHere = (answer) => saysSomething(answer) && !answer.heard; // not only heard in somebody's words
const fromCaller = (answer) => answer.by.startsWith("caller");
const isText = (value) => typeof value === "string";

function readKnowledge(payload) {
  const table = (section, kind) =>
    new Map(payload.knowledge[section].map(([id, record]) => [id, revived({ id, ...record }, payload, kind)]));
  const { digest, own_says, law, looks, calculators } = payload;
  const kb = { digest, own_says, law, looks, calculators };
  for (const [section, kind] of Object.entries(payload.kinds)) kb[section] = table(section, kind);
  for (const name of payload.word_tables) kb[name] = new Map(payload.knowledge[name]);
  kb.scales = revived(payload.knowledge.scales, payload, "Scales");
  kb.settings = revived(payload.knowledge.settings, payload, "Settings");
  kb.speech = revived(payload.knowledge.speech, payload, "Speech");
  kb.facts = new Map([...kb.checks.keys()].map((id) => [id, id]).concat(payload.fills));
  for (const check of kb.checks.values()) check.finding = kb.findings.get(check.id) ?? null;
  return kb;
}

// Tables come as lists of pairs: their order means something, and any word may be a key.
function revived(record, payload, kind) {
  const full = { ...payload.defaults[kind], ...record };
  for (const [field, inner] of Object.entries(payload.nested[kind])) {
    const of = (value) => revived(value, payload, inner);
    if (payload.maps[kind][field]) full[field] = full[field].map(([key, value]) => [key, of(value)]);
    else if (full[field]) full[field] = of(full[field]);
  }
  for (const [field, depth] of Object.entries(payload.maps[kind])) full[field] = asMap(full[field], depth);
  return full;
}

const asMap = (pairs, depth) =>
  new Map(pairs.map(([key, value]) => [key, depth > 1 ? asMap(value, depth - 1) : value]));

const factName = (kb, checkId) => kb.facts.get(checkId) ?? checkId;
