// The visit file, format 1: one JSON line per event, sealed by the first 12 hex digits of the SHA-256 of the rest.
// Written byte for byte as the command line writes it: keys sorted, no spaces, ASCII only, floats as Python's repr.

const FORMAT = 1;
const WHOLE_NUMBERS = ["n", "v"]; // every other number of a visit is a reading

function canonical(value, key = "") {
  if (Array.isArray(value)) return `[${value.map((x) => canonical(x)).join(",")}]`;
  if (value === null || typeof value === "boolean") return String(value);
  if (typeof value === "number") return WHOLE_NUMBERS.includes(key) ? String(value) : floatText(value);
  if (isText(value)) return asciiText(value);
  const fields = Object.keys(value).sort().map((k) => `${asciiText(k)}:${canonical(value[k], k)}`);
  return `{${fields.join(",")}}`;
}

// JSON.stringify escapes what ASCII must; the rest goes out as \uXXXX, pair by pair, like Python's ensure_ascii.
function asciiText(text) {
  const escaped = (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`;
  return JSON.stringify(text).replace(/[\u007f-\uffff]/g, escaped);
}

const seal = (body) => sha256(body).slice(0, 12);

const REPEATED_EACH = 10; // every so many lines, and in the second, the first one is repeated

// One line for the event; `first` is the opening of the visit, [event, at], to be repeated now and then.
function journalLine(event, number, at, first = null) {
  const repeats = first && (number === 2 || number % REPEATED_EACH === 0);
  const opening = repeats ? { opening: { begin: filled(first[0]), since: first[1] } } : {};
  const line = { v: FORMAT, n: number, at, event: filled(event), ...opening };
  return canonical({ ...line, sum: seal(canonical(line)) });
}

// Empty fields are left out, as the command line does.
function filled(event) {
  return Object.fromEntries(Object.entries(event).filter(([k, v]) => v !== "" && v !== null
    && !(k === "sure" && v === true) && !(k === "heard" && v === false)));
}

// "2026-11-25T10:00:00+00:00"
const timeStamp = (date = new Date()) => `${date.toISOString().slice(0, 19)}+00:00`;

class NewerVisit extends VisitError {}

// One whole line: {number, event, at, text, opening}.
function readLine(line) {
  const text = line.trim();
  if (text.length > LONGEST_LINE) {
    throw new VisitError(say("store.line_too_long", { most: LONGEST_LINE.toLocaleString("en") }));
  }
  const plain = JSON.parse(text);
  if (keysWritten(text) !== keysRead(plain)) throw new VisitError(say("store.no_line")); // a field named twice
  if (!Number.isInteger(plain?.n) || plain.n < 1) throw new VisitError(say("store.wrong_number"));
  if (plain.sum !== seal(withoutSum(text))) throw new VisitError(say("store.wrong_checksum"));
  if (plain.v > FORMAT) throw new NewerVisit(say("store.later_version", { version: plain.v, here: FORMAT }));
  requireEvent(plain.event);
  return { number: plain.n, event: plain.event, at: String(plain.at), text, opening: plain.opening };
}

const keysWritten = (text) => [...text.matchAll(/"(?:[^"\\]|\\.)*"(\s*:)?/g)].filter(([, key]) => key).length;

function keysRead(value) {
  const inside = value !== null && typeof value === "object" ? Object.values(value) : [];
  return inside.reduce((count, each) => count + keysRead(each), Array.isArray(value) ? 0 : inside.length);
}

// The sealed text: the line without its sum, which stands after "n". Works on the text, so that 10 and 10.0 differ.
const withoutSum = (line) => line.replace(/,"sum":"[0-9a-f]{12}"(?=(?:,"v":[0-9]+)?\}$)/, "");

const EVENT_FIELDS = {
  begin: { setup: "setup", complaint: "string", words: "string?", site: "string?", digest: "string?", id: "string?",
    by: "string?" },
  reply: { check: "string", value: "value", sure: "boolean?", by: "string?", note: "string?", heard: "boolean?" },
  back: {},
  complain: { complaint: "string" },
  conclude: {},
  ask_on: {},
  repaired: { cause: "string", note: "string?", by: "string?", name: "string?" },
  proved: { passed: "boolean", reading: "string?", by: "string?" },
  another_fault: {},
  ticked: { item: "string", result: "string", reading: "string?", by: "string?" },
  close: { outcome: "string", reason: "string?", by: "string?", to: "string?", due: "string?", meanwhile: "string?" },
  reopen: {},
  noted: { text: "string", kind: "string", by: "string?" },
  pictured: { name: "string", of: "string", which: "string?", says: "string?", by: "string?" },
  take_over: { setup: "setup", by: "string?" },
  named: { gear: "gear", became: "keys?" },
};

const isWords = (value) => Array.isArray(value) && value.every(isText);
const isReading = (value) => isText(value) || Number.isFinite(value);
const JOBS = ["opens", "protects", "closes", "counts"];
const isDevice = (d) => isText(d?.name) && isText(d.kind) && isWords(d.jobs ?? [])
  && (d.jobs ?? []).every((job) => JOBS.includes(job)) && Object.entries(d.facts ?? {}).every(isProfileFact);
const isGear = (gear) => Array.isArray(gear) && gear.every(isDevice);
const FIELD_FITS = {
  string: isText,
  boolean: (value) => typeof value === "boolean",
  value: isReading,
  setup: (setup) => ["technician", "help_desk"].includes(setup?.role) && isWords(setup.devices ?? [])
    && (setup.tools === undefined || isWords(setup.tools)) && Object.entries(setup.profile ?? {}).every(isProfileFact)
    && isGear(setup.gear ?? []),
  gear: isGear,
  keys: (keys) => keys !== null && typeof keys === "object" && Object.values(keys).every(isText),
};

let profileFacts = {}; // fact -> its unit, or the words it may take; set once, when the page is read

function isProfileFact([name, value]) {
  if (name.startsWith("lamp.")) return isText(value);
  const allowed = own(profileFacts, name) ?? null;
  return Array.isArray(allowed) ? allowed.includes(value) : allowed !== null && Number.isFinite(value);
}

// Throws VisitError saying which field of an event cannot be used.
function requireEvent(event) {
  const fields = own(EVENT_FIELDS, event?.event);
  if (!fields) {
    const name = quoted(`${event?.event}`.slice(0, 40));
    throw new VisitError(say("session.no_event", { name, known: Object.keys(EVENT_FIELDS).join(", ") }));
  }
  for (const [name, kind] of Object.entries(fields)) {
    const missing = own(event, name) === undefined;
    if (missing && !kind.endsWith("?")) throw new VisitError(say("session.incomplete", { event: event.event, why: name }));
    if (!missing && !FIELD_FITS[kind.replace("?", "")](event[name])) {
      throw new VisitError(say("session.unusable_field", { event: event.event, field: name }));
    }
  }
}
