// Why this step, what is likely so far, and how the leader came to lead.

const LEADERS = 5;
const AFTER_AN_ANSWER = 2; // causes named for each possible answer
const SMALLEST_SHOWN = 0.05; // of a weight; anything less would read 0.0

const likelyOf = (kb, conclusion, most = LEADERS) => ranked(conclusion.belief).slice(0, most)
  .map(([c, p]) => ({ says: kb.causes.get(c).says, probability: p, words: likelySays(p) }));

// What the proposed check saves and what each answer would leave; or why to stop here.
function whyOf(kb, conclusion) {
  const { check, why, gain } = conclusion.next;
  const found = { title: say(check ? "present.why_check" : "present.why_stop"), says: say(`session.why_${why}`) };
  if (!gain) return { ...found, gain: "", prospects: [] };
  const finding = kb.findings.get(gain.option.finding);
  const named = { minutes: minutesSays(gain.minutes), saved: roundedSays(gain.saves), finding: finding.says };
  return { ...found, gain: say("present.gain", named), prospects: prospectsOf(kb, conclusion, finding.id) };
}

const prospectsOf = (kb, conclusion, finding) => whyThisCheck(kb, conclusion).map((p) => say("present.prospect", {
  answer: stateSays(kb, finding, p.state),
  percent: percent(p.probability),
  causes: p.leaders.slice(0, AFTER_AN_ANSWER).map(([c, x]) => `${kb.causes.get(c).says} ${percent(x)}`).join(", "),
}));

// Weights of the leader against its runner-up in the order asked; they sum to the total.
function workingsOf(kb, session, conclusion) {
  const [leader] = summarise(kb, session, conclusion).ranked;
  const weighed = leader.steps.filter((s) => Math.abs(s.decibans) >= SMALLEST_SHOWN);
  const total = leader.start + sum(leader.steps.map((s) => s.decibans));
  return {
    against: say("present.against", { leader: leader.cause.says, rival: kb.causes.get(leader.rival).says }),
    weights: [
      { weight: weightSays(leader.start, 1), says: say("present.start_weight") },
      ...weighed.map((s) => ({ weight: weightSays(s.decibans, 1), says: settledSays(kb, s) })),
    ],
    total: { weight: weightSays(total, 1), says: say("present.in_all") },
    computed: computedOf(conclusion),
    rules: conclusion.after.firings.map((f) => ruleSays(kb, f)),
  };
}

function settledSays(kb, { finding, state, settledBy }) {
  const says = seenSays(kb, finding, state);
  return settledBy ? say("present.settled", { says, rule: kb.rules.get(settledBy).says }) : says;
}

// 'what is on the window: hanging drops'; without a finding, that the repair of a cause did not help.
function seenSays(kb, finding, state) {
  if (!finding) return say("present.went_on", { cause: kb.causes.get(state).says });
  return say("present.seen", { finding: kb.findings.get(finding).says, state: stateSays(kb, finding, state) });
}

// What calculations made of the answers.
const computedOf = ({ known }) => [...known.outcomes.values()].map((o) => o.says);

// A rule with the facts that made it fire, as far as people were told them.
function ruleSays(kb, { rule, premises: found }) {
  const { says, source } = kb.rules.get(rule);
  const because = found.map(([name, value]) => factSays(kb, name, value)).filter(Boolean).join("; ");
  const named = { says, because, source: kb.sources.get(source).cite };
  return say(because ? "present.rule_because" : "present.rule", named);
}

// A fact in words; '' for one that only other rules know.
function factSays(kb, name, value) {
  const seen = (finding, state) => say("present.seen", { finding, state });
  if (name === "complaint") return seen(say("present.complaint"), kb.complaints.get(value).says);
  for (const finding of kb.findings.values()) {
    const state = finding.fact === name && [...finding.states].find(([, values]) => values.includes(value))?.[0];
    if (state) return seenSays(kb, finding.id, state);
  }
  const check = [...kb.checks.values()].find((c) => factName(kb, c.id) === name);
  const said = check && optionsOf(check).get(value);
  return said ? seen(check.ask, said) : "";
}
