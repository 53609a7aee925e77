// Setup and answers -> facts; readings pass through the named calculators with the profile's numbers.

// What is known before anything is asked: profile, role, the kinds of sensor where they are known.
function factsOfSetup(kb, setup) {
  const values = factsOfProfile(kb, setup).set("role", setup.role);
  if (setup.devices.length) {
    for (const d of kb.devices.keys()) values.set(`fitted.${d}`, setup.devices.includes(d) ? "fitted" : "none");
  }
  return values;
}

// Everything established directly: profile, set-up, complaint, answers, calculations. Later answers win.
function gather(kb, setup, complaint, answers) {
  const values = factsOfSetup(kb, setup);
  if (complaint) values.set("complaint", complaint);
  for (const answer of answers) {
    if (saysSomething(answer) && kb.checks.has(answer.check)) values.set(factName(kb, answer.check), answer.value);
  }
  return { values, outcomes: calculate(kb, values) };
}

// Every calculation whose inputs are there; twice, so that one may feed another.
function calculate(kb, values) {
  const outcomes = new Map();
  for (let round = 0; round < 2; round += 1) {
    for (const calculation of kb.calculations.values()) {
      const outcome = outcomes.has(calculation.id) ? null : runCalculation(kb, calculation, values);
      if (!outcome) continue;
      outcomes.set(calculation.id, outcome);
      values.set(calculation.id, outcome.word);
    }
  }
  return outcomes;
}

// Null while a required input is unknown or its numbers make no sense.
function runCalculation(kb, calculation, values) {
  const { required, defaults } = kb.calculators[calculation.calculator];
  const given = { ...defaults, ...Object.fromEntries(calculation.constants) };
  for (const [parameter, fact] of calculation.inputs) {
    if (values.has(fact)) given[parameter] = values.get(fact);
  }
  if (calculation.unit) given.unit = calculation.unit;
  if (required.some((parameter) => !(parameter in given))) return null;
  try {
    return CALCULATORS[calculation.calculator](given);
  } catch (error) {
    if (error instanceof CalculationError) return null;
    throw error;
  }
}

// The word facts; numbers are for calculators only. Name -> set of words.
function wordFacts(values) {
  const facts = new Map();
  for (const [name, value] of values) if (isText(value)) addFact(facts, name, value);
  return facts;
}

function addFact(facts, name, value) {
  if (!facts.has(name)) facts.set(name, new Set());
  facts.get(name).add(value);
}
