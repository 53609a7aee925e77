// Facts -> firings, by forward chaining to the least fixpoint; and what the firings bring about.
// Rules are positive and conjunctive, nothing is retracted, so the fixpoint is unique whatever the order.

// The facts a rule adds: what it derives and the answers it settles.
function conclusionsOf(kb, rule) {
  const settled = [...rule.then.settle].map(([check, answer]) => [factName(kb, check), answer]);
  return [...rule.then.derive, ...settled];
}

// The facts that satisfy the rule, sorted, or null.
function premises(rule, facts) {
  const found = [];
  for (const [name, accepted] of rule.when) {
    const hits = accepted.filter((value) => facts.get(name)?.has(value));
    if (!hits.length) return null;
    found.push(...hits.map((value) => [name, value]));
  }
  return found.sort(byFact);
}

const byFact = (a, b) => byCodeUnit(a[0], b[0]) || byCodeUnit(a[1], b[1]);

// Adds to `facts` until no rule is left that could fire; returns the fired rules by id.
function fixpoint(kb, facts) {
  let waiting = [...kb.rules.values()];
  const fired = [];
  for (;;) {
    const ready = waiting.filter((rule) => premises(rule, facts));
    if (!ready.length) return fired.sort((a, b) => byCodeUnit(a.id, b.id));
    waiting = waiting.filter((rule) => !ready.includes(rule));
    fired.push(...ready);
    for (const rule of ready) for (const [name, value] of conclusionsOf(kb, rule)) addFact(facts, name, value);
  }
}

// Every effect of the rules that fire on the given values, each with the rule it comes from.
function consequences(kb, values) {
  const facts = wordFacts(values);
  const rules = fixpoint(kb, facts);
  const effects = (read) => rules.flatMap((rule) => read(rule.then).map((x) => [rule, x]));
  return {
    firings: rules.map((rule) => ({ rule: rule.id, premises: premises(rule, facts) })),
    facts,
    settled: new Map(effects((then) => [...then.settle]).map(([rule, [check, answer]]) => [check, [answer, rule.id]])),
    excluded: new Set(effects((then) => then.exclude).map(([, cause]) => cause)),
    cautions: unique(effects((then) => then.caution).map(([, caution]) => caution)),
    stopWork: unique(rules.map((rule) => rule.then.stop_work).filter(Boolean)),
    contradictions: rules.filter((rule) => rule.then.contradiction).map((rule) => rule.id),
    unlocked: new Set(effects((then) => then.unlock).map(([, check]) => check)),
  };
}
