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
  return outcome(word, say("calc.supply", { measured: volts(measured), how, low: volts(low), high: numberText(high) }));
}

const numberText = (x) => (Number.isFinite(x) ? volts(x) : "inf");

function expectedSupply(source, length, area, loadW, loadA, temperature) {
  if (source === undefined) return [0, say("calc.source_not_known")];
  if (length === 0) return [source, say("calc.source_wanted", { source: volts(source) })];
  if (length === undefined || area === undefined || (loadW === undefined && loadA === undefined)) {
    const left = source * (1 - ASSUMED_RUN_DROP);
    return [left, say("calc.unknown_run", { source: volts(source), left: volts(left) })];
  }
  const loop = ((2 * notNegative(length, "cable length")) / 1000) * resistancePerKm(area, temperature);
  const arrives = loadW === undefined ? constantCurrent(source, loop, loadA) : constantPower(source, loop, loadW);
  const run = { source: volts(source), length: general(length), area: general(area) };
  if (arrives === null) return [0, say("calc.cannot_start", run)];
  return [arrives, say("calc.should_leave", { ...run, left: volts(arrives) })];
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
  { word: "eod_no", onDetect: true, open: true },
  { word: "eod_nc", onDetect: true, open: false },
  { word: "dod_no", onDetect: false, open: true },
  { word: "dod_nc", onDetect: false, open: false },
];

function expectedContact(logic, powered, detecting) {
  const energised = powered && detecting === logic.onDetect;
  return energised === logic.open ? "closed" : "open";
}

function contactLogic({ off, clear, blocked }) {
  [off, clear, blocked].forEach(requireContact);
  const logic = LOGICS.find((l) => expectedContact(l, false, false) === off
    && expectedContact(l, true, false) === clear && expectedContact(l, true, true) === blocked);
  const word = logic?.word ?? (off === clear && clear === blocked ? `stuck_${off}` : "inconsistent");
  const found = say(logic ? `calc.logic_${word}` : "calc.no_logic");
  const named = { off: contactSays(off), clear: contactSays(clear), blocked: contactSays(blocked), found };
  return outcome(word, say("calc.contact", named));
}

const contactSays = (word) => say(`calc.contact_${word}`);

function requireContact(word) {
  if (word !== "open" && word !== "closed") refuse(`a contact is open or closed, not ${word}`);
}

function signalChain({ lamp, contact, logic, input, sense }) {
  if (lamp !== "clear" && lamp !== "detecting") refuse("this lamp tells nothing about the contact");
  const wired = LOGICS.find((l) => l.word === logic) ?? refuse("no such contact logic");
  const expected = expectedContact(wired, true, lamp === "detecting");
  requireContact(contact);
  const seen = { lamp: say(`calc.lamp_${lamp}`), contact: contactSays(contact) };
  if (expected !== contact) {
    const named = { ...seen, expected: contactSays(expected) };
    return outcome("breaks_at_contact", say("calc.contact_wrong", named));
  }
  if (!input || !sense) return outcome("agrees", say("calc.contact_agrees", seen));
  if (input !== "active" && input !== "inactive") refuse("an input is active or inactive");
  const believed = contact === sense.split("_")[0] ? "active" : "inactive";
  const named = { ...seen, input: say(`calc.input_${input}`), expected: say(`calc.input_${believed}`) };
  const agrees = input === believed;
  return outcome(agrees ? "agrees" : "breaks_at_input", say(agrees ? "calc.input_agrees" : "calc.input_wrong", named));
}

function compared(what, value, low, high, words, unit) {
  const word = value < low ? words[0] : value > high ? words[2] : words[1];
  const shown = (x) => (unit ? formatReading(x, unit) : general(x, 4));
  const from = () => (high === Infinity ? say("calc.at_least", { low: shown(low) }) : between(shown(low), shown(high)));
  const limits = low === -Infinity ? say("calc.at_most", { high: shown(high) }) : from();
  return outcome(word, say("calc.compared", { what: say(`calc.${what}`), value: shown(value), limits }));
}

const between = (low, high) => say("calc.between", { low, high });

const scanLevel = ({ near, far, tolerance }) =>
  compared("height_difference", far - near, -tolerance, tolerance, ["tilted_down", "level", "tilted_up"], "m");

const within = ({ value, low = -Infinity, high = Infinity, unit }) =>
  compared("value", value, low, high, ["below", "inside", "above"], unit);

const difference = ({ a, b, tolerance, unit }) =>
  compared("difference", a - b, -tolerance, tolerance, ["b_larger", "equal", "a_larger"], unit);

const ratio = ({ a, b, low, high }) =>
  compared("ratio", b === 0 ? refuse("cannot divide by zero") : a / b, low, high, ["below", "inside", "above"], "");

function testTiming({ pulse_ms: pulse, response_ms: response, release_ms, hold_ms: hold, window_ms: window }) {
  const release = release_ms ?? ASSUMED_RELEASE_MS;
  if (Math.min(pulse, window ?? Infinity, response, release, hold) < 0) refuse("Times cannot be negative.");
  const needed = response + release;
  const back = response + hold + release;
  const named = { pulse: general(pulse), needed: general(needed), back: general(back), release: general(release) };
  const says = say(release_ms === undefined ? "calc.timing_assumed" : "calc.timing", named);
  if (pulse - needed < 0) return outcome("pulse_too_short", says);
  return outcome((window ?? Infinity) - back >= 0 ? "good" : "hold_too_long", says);
}

function insulation({ mohm }) {
  const judged = notNegative(mohm, "insulation resistance") < 1 ? "failed"
    : mohm < 50 ? "suspect" : mohm >= 100 ? "good" : "acceptable";
  const says = say("calc.insulation", { ohm: general(mohm), judged: say(`calc.insulation_${judged}`) });
  return outcome(judged === "acceptable" ? "good" : judged, says);
}

function loopResistance({ measured, turns, perimeter, lead_in: leadIn, area }) {
  const expected = ((perimeter * turns + 2 * leadIn) / 1000) * resistancePerKm(area);
  const says = say("calc.loop", { measured: fixed(measured, 2), expected: fixed(expected, 2) });
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
  const named = { measured: general(measured), terminator: general(terminator), found: say(`calc.edge_${word}`) };
  return outcome(EDGE_WORDS[word] ?? word, say("calc.edge", named));
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
  const share = say("session.percent", { number: fixed(100 * drop, 0) });
  const named = { idle: volts(idle), loaded: volts(loaded), drop: share, low: volts(low) };
  const says = say("calc.sag", named);
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
