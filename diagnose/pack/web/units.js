// Reads what a technician types ('9,8 V', '1k2', "5'6\"", '10-12 V', 'OL') and shows values back. The tables come
// from the Python side with the page (`unitTable`); assumptions are told in `note`, and whatever has two likely
// meanings is refused with a question.

let unitTable = null; // set once, when the page is read
const LONGEST_READING = 60;
const SIGNIFICANT_DIGITS = 4;
const TAPE_FRACTIONS = [2, 4, 8, 16, 32, 64];

// An atomic group, which JavaScript lacks: a look-ahead keeps its first match, the reference then takes it.
let atomicGroups = 0;
function atomic(source) {
  atomicGroups += 1;
  return `(?=(?<atom${atomicGroups}>${source}))\\k<atom${atomicGroups}>`;
}
const plainNumber = () =>
  atomic("[0-9]+\\s+[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+") + atomic("(?:[eE][+\\-]?[0-9]+)?");
const named = (name, source) => `(?<${name}>${source})`;
const signed = (name) => named(name, `[+\\-]?\\s?${plainNumber()}`);
const unsigned = (name) => named(name, plainNumber());
const unitCalled = (name) => named(name, "(?:sq\\s?)?[cmCM][mM]\\^?2|[A-Za-zΩ°%'\"/²\\s.]*?");
const whole = (source, flags = "u") => new RegExp(`^(?:${source})$`, flags);
const edge = "[\\p{L}\\p{N}_]";
const TO = `(?:-|(?<!${edge})to(?!${edge})|(?<=[0-9])to|\\.{2,3}|…)`;

const SINGLE = whole(`${signed("n1")}\\s*${unitCalled("u1")}`);
const RANGE = whole(`${signed("n1")}\\s*${unitCalled("u1")}\\s*${TO}\\s*${signed("n2")}\\s*${unitCalled("u2")}`);
const BETWEEN = whole(
  `between\\s+${signed("n1")}\\s*${unitCalled("u1")}\\s+and\\s+${signed("n2")}\\s*${unitCalled("u2")}`, "iu");
const PAIR = whole(
  `${signed("n1")}\\s*${unitCalled("u1")}\\s*(?:(?<!${edge})and(?!${edge})|&)\\s*${signed("n2")}\\s*${unitCalled("u2")}`, "iu");
const TOLERANCE = whole(
  `${signed("n1")}\\s*${unitCalled("u1")}\\s*(?:±|\\+/-|\\+-)\\s*${unsigned("n2")}\\s*${unitCalled("u2")}`);
const COMPOUND = whole(
  `${unsigned("n1")}\\s*${unitCalled("u1")}\\s*${named("hyphen", "-?")}\\s*${unsigned("n2")}\\s*${unitCalled("u2")}`);
const RESISTOR_CODE = whole("([0-9]+)([RrKkM])([0-9]+)\\s*(?:Ω|ohms?)?", "iu");
const GAUGE = whole("([0-9]+)\\s*(?:awg|gauge|ga)|awg\\s*([0-9]+)", "iu");
const CLOCK = whole("(?=.*[:ap])([0-9]{1,2})(?::([0-5][0-9]))?\\s*(?:([ap])\\.?\\s?m\\.?)?", "iu");
const OVER_RANGE = whole("o\\.?l\\.?|0l|overload|over\\s?(?:range|limit)|infinit[ey]|infinity|inf|∞", "iu");
const OPEN_LINE = whole("open(?:[\\s\\-]?(?:circuit|line|loop))?", "iu");
const ABOUT = /^(?:~|(?:about|around|roughly|approximately|approx\.?|circa|ca\.?)\s)\s*/iu;
const AT_LEAST = /^(?:>=?|(?:(?:more|greater|longer|higher|larger) than|over|above|at least)\s)\s*/iu;
const AT_MOST = /^(?:<=?|(?:(?:no more|not more|less|shorter|lower|smaller) than|under|below|at most|up to)\s)\s*/iu;
const GROUPED = /^[+-]?[1-9][0-9]{0,2},[0-9]{3}$/u;
const WRITTEN = /^[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?$/u;

// {value, note, loose} in the base unit asked for; loose: two ends or values, which may mean different things. Throws AnswerError with a friendly re-ask.
function parseReading(text, unit) {
  const base = baseUnit(unit);
  const same = [...text].map((c) => unitTable.same.get(c) ?? c).join("");
  const typed = squeezed(squeezed(same).replace(/[.!;]+$/u, ""));
  if (!typed || [...typed].length > LONGEST_READING) throw new AnswerError(say("units.please", { like: likeThis(base) }));
  const notes = [];
  const value = readBounds(typed, base, notes);
  if (Number.isNaN(value) || (!Number.isFinite(value) && !notes.includes(say("units.over_range")))) {
    throw new AnswerError(say("units.too_large", { typed: squeezedEnds(text), example: exampleOf(base) }));
  }
  const loose = notes.includes(TWO_ENDS);
  return { value, note: unique(notes).filter((n) => n !== TWO_ENDS).join("; "), loose };
}

const squeezedEnds = (text) => text.replace(/^\s+|\s+$/gu, "");
const unitKey = (base) => base.symbol.toLowerCase().replace("/", "_per_");
const wantedOf = (base) => say(`units.wanted_${unitKey(base)}`);
const exampleOf = (base) => say(`units.example_${unitKey(base)}`);
const likeThis = (base) => say("units.like", { wanted: wantedOf(base), example: exampleOf(base) });

function baseUnit(unit) {
  const base = unitTable.bases.get(unit);
  return { ...base, kind: unitTable.kinds[base.kind], factor: unitTable.kinds[base.kind].factors.get(base.symbol) };
}

// Four significant digits in a handy unit: '980 mV', '1.2 kΩ'.
function formatReading(value, unit) {
  if (!Number.isFinite(value)) return say("units.over_range");
  const base = baseUnit(unit);
  const size = value * base.factor;
  const last = base.steps[base.steps.length - 1];
  let [factor, symbol] = base.steps.find(([step]) => Math.abs(size) >= step) ?? last;
  if (value === 0) [factor, symbol] = base.kind.name === "resistance" ? last : base.steps[0];
  return significant(size / factor) + symbol;
}

function significant(value) {
  if (Number.isInteger(value)) return fixed(value, 0);
  const places = SIGNIFICANT_DIGITS - 1 - Math.floor(Math.log10(Math.abs(value)));
  if (places < 0) return fixed(Math.round(value / 10 ** -places) * 10 ** -places, 0);
  return trimmed(fixed(value, Math.min(places, 100)));
}

// The value; words such as 'about' and '>' are peeled off first.
function readBounds(typed, base, notes) {
  const rest = (pattern) => typed.slice(typed.match(pattern)[0].length);
  if (ABOUT.test(typed)) {
    notes.push(say("units.approximate"));
    return readBounds(rest(ABOUT), base, notes);
  }
  if (AT_LEAST.test(typed) && !OVER_RANGE.test(typed)) {
    notes.push(say("units.lower_bound"));
    return readQuantity(rest(AT_LEAST), base, notes);
  }
  if (AT_MOST.test(typed)) {
    notes.push(say("units.upper_bound"));
    return readQuantity(rest(AT_MOST), base, notes);
  }
  return readRange(typed, base, notes) ?? readQuantity(typed, base, notes);
}

const TWO_ENDS = Symbol("loose"); // among the notes: the ends differ

// The middle of a range or the lower of two values, or null when it is neither.
function readRange(typed, base, notes) {
  if (readCompound(typed, base, notes) !== null) return null;
  const spread = typed.match(TOLERANCE)?.groups;
  const range = spread ?? (typed.match(RANGE) ?? typed.match(BETWEEN))?.groups;
  if (!range) return lowerOfTwo(typed, base, notes);
  const [first, second] = twoValues(range, base, notes);
  const half = spread ? second - converted(0, spread.u2 || spread.u1, base, []) : 0;
  const [low, high] = spread ? [first - half, first + half] : [first, second];
  if (low > high) {
    throw new AnswerError(say("units.high_to_low", { typed }));
  }
  notes.push(say(spread ? "units.middle_used" : "units.middle_of_range"));
  if (!spread && low !== high) notes.push(TWO_ENDS);
  return low + (high - low) / 2;
}

function lowerOfTwo(typed, base, notes) {
  const pair = typed.match(PAIR)?.groups;
  if (!pair) return null;
  const [first, second] = twoValues(pair, base, notes);
  notes.push(say("units.lower_of_two"), ...(first === second ? [] : [TWO_ENDS]));
  return Math.min(first, second);
}

function twoValues({ n1, u1, n2, u2 }, base, notes) {
  const first = converted(readNumber(n1, base), u1 || u2, base, notes);
  return [first, converted(readNumber(n2, base), u2 || u1, base, notes)];
}

function readQuantity(typed, base, notes) {
  for (const reader of [readOverRange, readGauge, readResistorCode, readClock, readCompound]) {
    const value = reader(typed, base, notes);
    if (value !== null) return value;
  }
  const single = typed.match(SINGLE)?.groups;
  if (!single) throw new AnswerError(say("units.cannot_read", { typed, like: likeThis(base) }));
  return converted(readNumber(single.n1, base), single.u1, base, notes);
}
