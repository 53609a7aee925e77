// Which answers do not fit the rest, and which of them is cheapest to look at again. P(wrong | all answers) by Bayes
// from the belief of all the others; see diagnose/session/doubts.py and diagnose/core/misfit.py.

const LOOK_AGAIN_AT = 0.5; // more likely wrong than right
const MOST_NAMED = 3; // answers named when all together fit badly

// Every answer scored since the last repair with the probability that it is wrong, most doubtful first; not what changed,
// or did not, with a repair, nor what was `confirmed`.
function doubts(kb, conclusion, confirmed = []) {
  const fresh = conclusion.observations.filter((o) => !conclusion.heard.has(o.finding));
  const found = fresh.map((o) => doubt(kb, conclusion.belief, o)).filter((d) => d.check && !confirmed.includes(d.check));
  return found.sort((a, b) => b.wrong - a.wrong || byCodeUnit(a.check, b.check));
}

// The cheapest of the answers that are more likely wrong than right, or null.
function lookAgain(kb, conclusion, confirmed = []) {
  const worth = doubts(kb, conclusion, confirmed).filter((d) => d.wrong >= LOOK_AGAIN_AT);
  return worth.sort((a, b) => a.minutes - b.minutes || byCodeUnit(a.check, b.check))[0] ?? null;
}

// The answers to check again when all together fit badly; empty while they fit.
function unfitting(kb, conclusion, confirmed = []) {
  return conclusion.misfit < kb.settings.misfit_at ? [] : doubts(kb, conclusion, confirmed).slice(0, MOST_NAMED);
}

// Two readings of the same answers, at face value: each is wrong with its usual chance, or at least as a careless one.
function unread(start) {
  const untempered = { ...start, network: { ...start.network, temper: 1 } };
  return { usual: untempered, loose: untempered };
}

function readOn({ usual, loose }, seen, [slip, careless], before) {
  return { usual: absorb(usual, seen, slip, before), loose: absorb(loose, seen, Math.max(slip, careless), before) };
}

// How much better careless answering explains the answers, as a log likelihood ratio.
const misfit = ({ usual, loose }) => loose.logEvidence - usual.logEvidence;

function doubt(kb, belief, seen) {
  const check = kb.checks.get(kb.findings.get(seen.finding).check);
  if (!check) return { check: "", wrong: 0, minutes: 0 };
  const table = belief.network.tables.get(seen.finding);
  const slip = slipOf(kb.settings, seen);
  const answered = byKinds(table, evidenceWeight(table, seen.state, slip));
  const others = gathered(belief.weights, table).map((w, cell) => w / answered[cell] ** belief.network.temper);
  const predicted = (state) => {
    const exact = byKinds(table, evidenceWeight(table, state, 0));
    return sum(others.map((w, cell) => w * exact[cell])) / sum(others);
  };
  const p = predicted(seen.state);
  const fits = table.states.map(predicted);
  const other = (slip / (table.states.length - 1)) * (1 - p);
  return { check: check.id, wrong: other / ((1 - slip) * p + other), minutes: check.minutes,
    state: seen.state, better: table.states[fits.indexOf(Math.max(...fits))] };
}
