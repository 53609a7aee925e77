// How far the answers rule causes out: outright where a rule rests on what somebody at the gate is sure of, else by the
// chance that its grounds are wrong.

// [cause, what is left of its odds], sorted; grounds are as good as the worst of them, of several the best count.
function excludedBy(kb, { known, after, counted }) {
  const wrong = wrongDerived(kb, after, wrongFacts(kb, known, counted));
  const found = new Map();
  for (const firing of after.firings) {
    const chance = wrongGrounds(firing, wrong);
    for (const cause of kb.rules.get(firing.rule).then.exclude) found.set(cause, Math.min(chance, found.get(cause) ?? 1));
  }
  return [...found].sort((a, b) => byCodeUnit(a[0], b[0]));
}

// Fact -> the chance that it is wrong, where somebody said it who may well be; and what is calculated from it.
function wrongFacts(kb, known, answers) {
  const found = new Map();
  for (const answer of answers.filter((a) => saysSomething(a) && kb.checks.has(a.check))) {
    const doubtful = fromCaller(answer) || answer.heard || !answer.sure;
    const chance = doubtful ? slipOf(kb.settings, { sure: answer.sure, fromCaller: fromCaller(answer), heard: answer.heard }) : 0;
    found.set(factName(kb, answer.check), chance);
  }
  for (const id of known.outcomes.keys()) {
    const inputs = [...kb.calculations.get(id).inputs.values()];
    found.set(id, Math.max(0, ...inputs.map((f) => found.get(f) ?? 0)));
  }
  return found;
}

// With the facts that rules conclude, each as good as the best of its grounds.
function wrongDerived(kb, after, told) {
  const concluded = after.firings.map((firing) => {
    const names = conclusionsOf(kb, kb.rules.get(firing.rule)).map(([name]) => name);
    return [firing, names.filter((name) => !told.has(name))];
  });
  const wrong = new Map([...concluded.flatMap(([, names]) => names.map((name) => [name, 1])), ...told]);
  for (let changed = true; changed;) {
    changed = false;
    for (const [firing, names] of concluded) {
      const chance = wrongGrounds(firing, wrong);
      for (const name of names.filter((n) => chance < wrong.get(n))) {
        wrong.set(name, chance);
        changed = true;
      }
    }
  }
  return wrong;
}

const wrongGrounds = (firing, wrong) => Math.max(0, ...firing.premises.map(([name]) => wrong.get(name) ?? 0));
