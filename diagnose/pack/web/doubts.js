// Which answers do not fit the rest, and which of them is cheapest to look at again. P(wrong | all answers) by Bayes
// from the belief of all the others; see diagnose/session/doubts.py and diagnose/core/misfit.py.

const LOOK_AGAIN_AT = 0.3;
const MOST_NAMED = 3; // answers named when all together fit badly

// Every answer scored since the last repair with the probability that it is wrong, most doubtful first; not what changed,
// or did not, with a repair.
function doubts(kb, conclusion) {
  const fresh = conclusion.observations.filter((o) => !conclusion.heard.has(o.finding));
  const found = fresh.map((o) => doubt(kb, conclusion.belief, o)).filter((d) => d.check);
  return found.sort((a, b) => b.wrong - a.wrong || byCodeUnit(a.check, b.check));
}

// The cheapest of the answers that are doubtful enough to be looked at again, or null.
function lookAgain(kb, conclusion) {
  const worth = doubts(kb, conclusion).filter((d) => d.wrong >= LOOK_AGAIN_AT);
  return worth.sort((a, b) => a.minutes - b.minutes || byCodeUnit(a.check, b.check))[0] ?? null;
}

// The answers to check again when all together fit badly; empty while they fit.
function unfitting(kb, conclusion) {
  return misfit(kb, conclusion) < kb.settings.misfit_at ? [] : doubts(kb, conclusion).slice(0, MOST_NAMED);
}

// How much better careless answering explains the answers, as a log likelihood ratio.
function misfit(kb, { first, observations, heard }) {
  const start = { ...first, network: { ...first.network, temper: 1 } };
  const after = (slipFor) => observations.reduce((b, o) => absorb(b, o, slipFor(o), heard.get(o.finding)), start).logEvidence;
  const usual = (o) => slipOf(kb.settings, o);
  return after((o) => Math.max(usual(o), kb.settings.careless_slip)) - after(usual);
}

function doubt(kb, belief, seen) {
  const check = kb.checks.get(kb.findings.get(seen.finding).check);
  if (!check) return { check: "", wrong: 0, minutes: 0 };
  const table = belief.network.tables.get(seen.finding);
  const slip = slipOf(kb.settings, seen);
  const answered = likelihood(table, evidenceWeight(table, seen.state, slip), belief.network.size);
  const others = belief.weights.map((w, cell) => w / answered[cell] ** belief.network.temper);
  const exact = likelihood(table, evidenceWeight(table, seen.state, 0), belief.network.size);
  const p = sum(others.map((w, cell) => w * exact[cell])) / sum(others);
  const other = (slip / (table.states.length - 1)) * (1 - p);
  return { check: check.id, wrong: other / ((1 - slip) * p + other), minutes: check.minutes };
}
