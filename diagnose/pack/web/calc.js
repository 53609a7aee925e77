// The calculators a knowledge base may name: numbers -> one word for the rules and the sentence that shows the
// arithmetic. V, A, W, ohm, m, mm2, degC, ms. Sources and reasons for every constant stand in the Python modules
// diagnose/calc; the tests compare the two. Which inputs are needed, and what is taken for the others, comes with the
// knowledge.

const COPPER_OHM_MM2_PER_M = 0.017241;
const COPPER_PER_KELVIN = 0.00393;
const NO_SUPPLY_BELOW_V = 0.5;
const EXPECTED_TOLERANCE = 0.05;
const ASSUMED_RUN_DROP = 0.1;
const ASSUMED_RELEASE_MS = 20;
const LOOP_EXCESS_OHM = 1;
const OPEN_LOOP_OHM = 200;
const LARGEST_SERIES_OHM = 5;

const outcome = (word, says) => ({ word, says });

function refuse(says) {
  throw new CalculationError(says);
}

const positive = (value, name) => (value > 0 ? value : refuse(`The ${name} must be above zero.`));
const notNegative = (value, name) => (value >= 0 ? value : refuse(`The ${name} cannot be negative.`));
const volts = (x) => fixed(x, 1);

function resistancePerKm(area, temperature = 20) {
  const nominal = (1000 * COPPER_OHM_MM2_PER_M) / positive(area, "cross-section");
  const zero = 20 - 1 / COPPER_PER_KELVIN;
  if (!(temperature > zero)) refuse(`${temperature} °C is outside the range of the copper rule.`);
  return nominal * (1 + COPPER_PER_KELVIN * (temperature - 20));
}

function supplyAtDevice({ measured, source, length, area, load_w, load_a, minimum, maximum, temperature }) {
  if (source === undefined && minimum === undefined && Math.abs(measured) >= NO_SUPPLY_BELOW_V) {
    refuse("neither the source volts nor the device's minimum is known");
  }
  const low = minimum ?? 0.85 * (source || 0);
  const high = maximum ?? (source === undefined ? Infinity : 1.25 * source);
  const [expected, how] = expectedSupply(source, length, area, load_w, load_a, temperature);
  const word = judgeSupply(measured, expected, low, high);
  return outcome(word, `${volts(measured)} V measured; ${how}; limits ${volts(low)} to ${numberText(high)} V`);
}

const numberText = (x) => (Number.isFinite(x) ? volts(x) : "inf");

function expectedSupply(source, length, area, loadW, loadA, temperature) {
  if (source === undefined) return [0, "source not known"];
  if (length === 0) return [source, `${volts(source)} V wanted`];
  if (length === undefined || area === undefined || (loadW === undefined && loadA === undefined)) {
    const left = source * (1 - ASSUMED_RUN_DROP);
    return [left, `${volts(source)} V over an unknown run (10 % allowed) should leave ${volts(left)} V`];
  }
  const loop = ((2 * notNegative(length, "cable length")) / 1000) * resistancePerKm(area, temperature);
  const arrives = loadW === undefined ? constantCurrent(source, loop, loadA) : constantPower(source, loop, loadW);
  const how = `${volts(source)} V over ${general(length)} m of ${general(area)} mm2`;
  if (arrives === null) return [0, `${how} cannot start this device`];
  return [arrives, `${how} should leave ${volts(arrives)} V`];
}

// Volts at a device that draws `amperes` whatever the voltage; null when it cannot run.
function constantCurrent(source, loop, amperes) {
  checkSource(source, loop, amperes);
  return amperes * loop >= source ? null : source - amperes * loop;
}

// Volts at a device with a switching regulator: V = (Vs + sqrt(Vs^2 - 4 P R)) / 2; null above Vs^2 / 4R.
function constantPower(source, loop, watts) {
  checkSource(source, loop, watts);
  if (loop && watts > source ** 2 / (4 * loop)) return null;
  return (source + Math.sqrt(Math.max(source ** 2 - 4 * watts * loop, 0))) / 2;
}

function checkSource(source, loop, load) {
  positive(source, "source voltage");
  notNegative(loop, "loop resistance");
  notNegative(load, "load");
}

function judgeSupply(measured, expected, minimum, maximum) {
  if (minimum > maximum) refuse("The device's minimum supply is above its maximum.");
  const size = Math.abs(measured);
  if (size < NO_SUPPLY_BELOW_V) return "none";
  if (size < minimum) return "low";
  if (size > maximum) return "high";
  return size < expected * (1 - EXPECTED_TOLERANCE) ? "below_expected" : "good";
}

// The four contact logics: coil energised on detect (eod) or not (dod), wired normally open or closed.
const LOGICS = [
  { word: "eod_no", onDetect: true, open: true, coil: "energise on detect", pole: "normally open" },
  { word: "eod_nc", onDetect: true, open: false, coil: "energise on detect", pole: "normally closed" },
  { word: "dod_no", onDetect: false, open: true, coil: "de-energise on detect", pole: "normally open" },
  { word: "dod_nc", onDetect: false, open: false, coil: "de-energise on detect", pole: "normally closed" },
];

function expectedContact(logic, powered, detecting) {
  const energised = powered && detecting === logic.onDetect;
  return energised === logic.open ? "closed" : "open";
}

function contactLogic({ off, clear, blocked }) {
  const readings = `off ${off}, clear ${clear}, blocked ${blocked}`;
  [off, clear, blocked].forEach(requireContact);
  const found = LOGICS.find((l) => expectedContact(l, false, false) === off
    && expectedContact(l, true, false) === clear && expectedContact(l, true, true) === blocked);
  if (found) return outcome(found.word, `${readings}: ${found.coil}, ${found.pole}`);
  const word = off === clear && clear === blocked ? `stuck_${off}` : "inconsistent";
  return outcome(word, `${readings}: no sound contact does that`);
}

function requireContact(word) {
  if (word !== "open" && word !== "closed") refuse(`a contact is open or closed, not ${word}`);
}

function signalChain({ lamp, contact, logic, input, sense }) {
  if (lamp !== "clear" && lamp !== "detecting") refuse("this lamp tells nothing about the contact");
  const wired = LOGICS.find((l) => l.word === logic) ?? refuse("no such contact logic");
  const expected = expectedContact(wired, true, lamp === "detecting");
  requireContact(contact);
  if (expected !== contact) {
    return outcome("breaks_at_contact", `lamp ${lamp}: contact should be ${expected}, is ${contact}`);
  }
  if (!input || !sense) return outcome("agrees", `lamp ${lamp} and contact ${contact} agree`);
  const believed = contact === sense.split("_")[0] ? "active" : "inactive";
  if (input !== believed) {
    return outcome("breaks_at_input", `contact ${contact}: the input should be ${believed}, is ${input}`);
  }
  return outcome("agrees", `lamp ${lamp}, contact ${contact} and input ${input} agree`);
}

function compared(what, value, low, high, words, unit) {
  const word = value < low ? words[0] : value > high ? words[2] : words[1];
  const both = low !== -Infinity && high !== Infinity;
  const atLeast = both ? `${general(low)} to ${general(high)}` : `at least ${general(low)}`;
  const limits = low === -Infinity ? `at most ${general(high)}` : atLeast;
  const says = `${what} ${general(value, 3)} ${unit}; limits ${limits} ${unit}`;
  return outcome(word, says.replace(/ ;/g, ";").trimEnd());
}

const scanLevel = ({ near, far, tolerance }) =>
  compared("height difference", far - near, -tolerance, tolerance, ["tilted_down", "level", "tilted_up"], "m");

const within = ({ value, low = -Infinity, high = Infinity }) =>
  compared("value", value, low, high, ["below", "inside", "above"], "");

const difference = ({ a, b, tolerance }) =>
  compared("difference", a - b, -tolerance, tolerance, ["b_larger", "equal", "a_larger"], "");

const ratio = ({ a, b, low, high }) =>
  compared("ratio", b === 0 ? refuse("cannot divide by zero") : a / b, low, high, ["below", "inside", "above"], "");

function testTiming({ pulse_ms: pulse, response_ms: response, release_ms, hold_ms: hold, window_ms: window }) {
  const release = release_ms ?? ASSUMED_RELEASE_MS;
  if (Math.min(pulse, window ?? Infinity, response, release, hold) < 0) refuse("Times cannot be negative.");
  const needed = response + release;
  const back = response + hold + release;
  const assumed = release_ms === undefined ? ` (release not known, ${general(release)} ms assumed)` : "";
  const says = `pulse ${general(pulse)} ms, needed ${general(needed)} ms; back after ${general(back)} ms${assumed}`;
  if (pulse - needed < 0) return outcome("pulse_too_short", says);
  return outcome((window ?? Infinity) - back >= 0 ? "good" : "hold_too_long", says);
}

function insulation({ mohm }) {
  const judged = notNegative(mohm, "insulation resistance") < 1 ? "failed"
    : mohm < 50 ? "suspect" : mohm >= 100 ? "good" : "acceptable";
  const says = `${general(mohm)} Mohm: ${judged}; at least 50 Mohm wanted`;
  return outcome(judged === "acceptable" ? "good" : judged, says);
}

function loopResistance({ measured, turns, perimeter, lead_in: leadIn, area }) {
  const expected = ((perimeter * turns + 2 * leadIn) / 1000) * resistancePerKm(area);
  const says = `${fixed(measured, 2)} ohm measured; the copper has ${fixed(expected, 2)} ohm`;
  if (measured > OPEN_LOOP_OHM) return outcome("open", says);
  if (measured > expected + LOOP_EXCESS_OHM && measured > LARGEST_SERIES_OHM / 2) return outcome("high", says);
  return outcome(measured < 0.3 * expected ? "shorted" : "good", says);
}

const EDGE = { tolerance: 0.05, pressedBelow: 1000, openAbove: 100000 };
const EDGE_WORDS = { two_terminators_in_parallel: "two_terminators", leakage: "leaking", added_resistance: "open" };

function edgeResistance({ measured, terminator }) {
  const lowest = (terminator / 2) * (1 - EDGE.tolerance);
  const highest = terminator * (1 + EDGE.tolerance);
  if (!(EDGE.pressedBelow < lowest && highest < EDGE.openAbove)) {
    refuse("The edge's limits overlap: check terminator, tolerance and both ends.");
  }
  const word = classifyEdge(measured, terminator);
  return outcome(EDGE_WORDS[word] ?? word,
    `${general(measured)} ohm against a ${general(terminator)} ohm terminator: ${word}`);
}

function classifyEdge(ohm, terminator) {
  const near = (centre) => Math.abs(ohm - centre) <= EDGE.tolerance * centre;
  if (notNegative(ohm, "resistance") < EDGE.pressedBelow) return "pressed_or_short";
  if (ohm > EDGE.openAbove) return "open";
  if (near(terminator)) return "healthy";
  if (near(terminator / 2)) return "two_terminators_in_parallel";
  return ohm < terminator ? "leakage" : "added_resistance";
}

function sag({ idle, loaded, minimum }) {
  const drop = idle > 0 ? (idle - loaded) / idle : 0;
  const low = minimum ?? 0.8 * idle;
  const says = `${volts(idle)} V idle, ${volts(loaded)} V under load (${percent(drop)} down); `
    + `at least ${volts(low)} V needed`;
  if (loaded < low) return outcome("drops_out", says);
  return outcome(drop > 0.1 ? "sags" : "steady", says);
}

const CALCULATORS = {
  supply_at_device: supplyAtDevice,
  contact_logic: contactLogic,
  signal_chain: signalChain,
  scan_level: scanLevel,
  within,
  difference,
  ratio,
  test_timing: testTiming,
  insulation,
  loop_resistance: loopResistance,
  edge_resistance: edgeResistance,
  sag,
  sun_in_view: sunInView,
};
