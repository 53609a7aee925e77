// What was asked and answered in the words of the role, and what was typed at a quantity.

const yesNo = () => new Map(["yes", "no"].map((option) => [option, say(`session.${option}`)]));

const PLACES = ["technician", "electrician", "help_desk"];
const placesSaid = () => PLACES.map((role) => [role, say(`session.place_${role}`)]);

const askText = (check, role) =>
  role === "help_desk" && check.ask_caller !== "never" ? check.ask_caller : check.ask;

// Answer id -> what it says; in a caller's words when `plain`. Empty for a quantity.
function optionsOf(check, plain = false) {
  if (check.kind === "yes_no") return check.options.size ? check.options : yesNo();
  return plain ? new Map([...check.options, ...check.caller_options]) : check.options;
}

function answerSays(check, answer, role) {
  if (answer.value === SOMETHING_ELSE) return say("session.said_something_else", { words: answer.note });
  if (!saysSomething(answer)) return say(`session.said_${answer.value}`);
  const said = isText(answer.value)
    ? optionsOf(check, role === "help_desk").get(answer.value) ?? answer.value
    : formatReading(answer.value, check.unit);
  return answer.sure ? said : say("session.not_sure", { said });
}

// Who gave an answer when that was not the present role, and what it replaced; '' with nothing to tell.
function originSays(check, answer, role) {
  const byAnother = answer.by && fromCaller(answer) !== (role === "help_desk");
  const { replaced } = answer;
  return [
    byAnother && bySays(answer.by),
    replaced && say("session.replaces", { said: earlierSays(check, replaced, role) }),
  ].filter(Boolean).join("; ");
}

// What somebody else had said before, and who.
const earlierSays = (check, { value, by, note }, role) =>
  say("session.said_by", { said: answerSays(check, { value, sure: true, note }, role), by: bySays(by) });

// Who gave an answer: a name as it was given, or in words who it was.
const NAMED_BY_ROLE = ["caller", "technician", "trainee", "trip_log", "card"];
const bySays = (by) => (NAMED_BY_ROLE.includes(by) ? say(`session.by_${by}`) : by);

// {value, sure, note, doubt} of a typed quantity; a trailing '?' or 'maybe' in front marks it as not sure.
function parseQuantity(check, text) {
  const typed = squeezed(text);
  const lead = `${say("session.maybe")} `;
  const maybe = typed.toLowerCase().startsWith(lead);
  const sure = !(maybe || typed.endsWith("?"));
  const bare = typed.replace(/\?+$/u, "").trim();
  const body = bare.toLowerCase().startsWith(lead) ? bare.slice(lead.length).trim() : bare;
  if (!body) throw new AnswerError(say("session.choose_an_answer"));
  return judgedQuantity(check, parseReading(body, check.unit), sure);
}

function judgedQuantity(check, reading, sure) {
  const [low, high] = check.hard ?? [-Infinity, Infinity];
  const shown = (value) => formatReading(value, check.unit);
  if (reading.value === Infinity) {
    return { value: high, sure, note: say("session.over_range", { kept: shown(high) }), doubt: "" };
  }
  if (!(low <= reading.value && reading.value <= high)) {
    const named = { shown: shown(reading.value), low: shown(low), high: shown(high) };
    throw new AnswerError(say("session.cannot_be", named));
  }
  const usual = check.plausible;
  const strange = usual && !(usual[0] <= reading.value && reading.value <= usual[1]);
  const named = strange && { shown: shown(reading.value), low: shown(usual[0]), high: shown(usual[1]) };
  const doubt = strange ? say("session.unusual", named) : "";
  return { value: reading.value, sure: sure && !reading.loose, note: reading.note, doubt };
}
