// What was asked and answered in the words of the role, and what was typed at a quantity.

const NO_ANSWER_SAYS = { dont_know: "not known", cant_check: "could not be checked", skip: "skipped" };
const YES_NO = new Map([["yes", "yes"], ["no", "no"]]);

const askText = (check, role) =>
  role === "help_desk" && check.ask_caller !== "never" ? check.ask_caller : check.ask;

// Answer id -> what it says; in a caller's words when `plain`. Empty for a quantity.
function optionsOf(check, plain = false) {
  if (check.kind === "yes_no") return check.options.size ? check.options : YES_NO;
  return plain ? new Map([...check.options, ...check.caller_options]) : check.options;
}

function answerSays(check, answer, role) {
  if (!saysSomething(answer)) return NO_ANSWER_SAYS[answer.value];
  const said = isText(answer.value)
    ? optionsOf(check, role === "help_desk").get(answer.value) ?? answer.value
    : formatReading(answer.value, check.unit);
  return answer.sure ? said : `${said} (not sure)`;
}

// Who gave an answer when that was not the present role, and what it replaced; '' with nothing to tell.
function originSays(answer, role) {
  const byAnother = answer.by && fromCaller(answer) !== (role === "help_desk");
  return [byAnother && answer.by, answer.replaced && `replaces: ${answer.replaced}`].filter(Boolean).join("; ");
}

// {value, sure, note, doubt} of a typed quantity; a trailing '?' or 'maybe' in front marks it as not sure.
function parseQuantity(check, text) {
  const typed = squeezed(text);
  const maybe = typed.toLowerCase().startsWith("maybe ");
  const sure = !(maybe || typed.endsWith("?"));
  const bare = typed.replace(/\?+$/u, "").trim();
  const body = bare.toLowerCase().startsWith("maybe ") ? bare.slice(6).trim() : bare;
  if (!body) throw new AnswerError("type an answer, or choose 'don't know'");
  return judgedQuantity(check, parseReading(body, check.unit), sure);
}

function judgedQuantity(check, reading, sure) {
  const [low, high] = check.hard ?? [-Infinity, Infinity];
  const shown = (value) => formatReading(value, check.unit);
  if (reading.value === Infinity) {
    return { value: high, sure, note: `over range, kept as ${shown(high)}`, doubt: "" };
  }
  if (!(low <= reading.value && reading.value <= high)) {
    throw new AnswerError(`${shown(reading.value)} cannot be right here; possible is ${shown(low)} to ${shown(high)}. `
      + "Try again, or choose 'don't know'");
  }
  const usual = check.plausible;
  const strange = usual && !(usual[0] <= reading.value && reading.value <= usual[1]);
  const doubt = strange ? `${shown(reading.value)} is unusual here (usual: ${usual.map(shown).join(" to ")})` : "";
  return { value: reading.value, sure, note: reading.note, doubt };
}
