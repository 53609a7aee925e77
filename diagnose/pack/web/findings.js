// Facts and rule consequences -> observations, each piece of evidence counted once.
// A finding is scored from its own answer or calculation. What a rule settled or derived is scored only when
// nothing below that rule is scored already; otherwise the rule merely saves the question.

function observe(kb, known, after, answers) {
  const given = new Map(answers.filter(saysSomething).map((a) => [a.check, a]));
  const fresh = firstHand(kb, known.values, after);
  const position = new Map([...given.keys()].map((check, i) => [check, i]));
  const place = (o) => position.get(kb.findings.get(o.finding).check) ?? position.size;
  const found = [...kb.findings.values()].map((f) => observation(f, known.values, fresh, after, given));
  return found.filter(Boolean).sort((a, b) => place(a) - place(b) || byCodeUnit(a.finding, b.finding));
}

// Facts that rules concluded without resting, at any depth, on a fact that is scored.
function firstHand(kb, values, after) {
  const concluded = after.firings.map((f) => [f, conclusionsOf(kb, kb.rules.get(f.rule))]);
  const everything = new Map([...concluded.flatMap(([, facts]) => facts), ...values]);
  const scored = new Set(["complaint"]);
  for (const f of kb.findings.values()) if (stateOf(f, everything)) scored.add(f.fact);
  const secondHand = restingOn(scored, concluded);
  const sorted = concluded.flatMap(([, facts]) => [...facts].sort(byFact));
  return new Map(sorted.filter(([name]) => !secondHand.has(name)));
}

function restingOn(scored, concluded) {
  const found = new Set();
  for (let before = -1; before !== found.size; ) {
    before = found.size;
    for (const [firing, facts] of concluded) {
      if (firing.premises.some(([name]) => scored.has(name) || found.has(name))) {
        for (const [name] of facts) found.add(name);
      }
    }
  }
  return found;
}

function stateOf(finding, values) {
  const value = values.get(finding.fact);
  for (const [state, means] of finding.states) if (means.includes(value)) return state;
  return "";
}

function observation(finding, values, fresh, after, given) {
  const own = stateOf(finding, values);
  if (own) {
    const answer = given.get(finding.check);
    const [sure, told, heard] = answer ? [answer.sure, fromCaller(answer), answer.heard] : [true, false, false];
    return { finding: finding.id, state: own, sure, settledBy: "", fromCaller: told, heard };
  }
  const state = stateOf(finding, fresh);
  const settledBy = after.settled.get(finding.check)?.[1] ?? "";
  return state ? { finding: finding.id, state, sure: true, settledBy, fromCaller: false, heard: false } : null;
}
