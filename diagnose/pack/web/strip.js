// How the signal chain stands: for each link whether the answers prove it good, leave it in doubt, or point at it; see
// diagnose/core/strip.py, whose words are kept here.

const PROVED = 0.2; // at most this factor, tempered as it is
const GOOD_BELOW = 0.1; // and no more chance of a fault than this, whatever speaks
const DOUBT_FROM = 0.25; // one fault in four
const [RISEN, RISEN_TO] = [2, 0.1]; // or twice the chance it had, and one worth looking at

// The state of each link at which some fault can start; nothing is known of any before something was seen.
function standingOf(settings, { belief, seen }, complaint) {
  const { network } = belief;
  const alone = network.presenting.get(complaint);
  const start = network.odds.map((o, i) => (i && alone ? o * alone[i] : i && o));
  const total = sum(start);
  const [before, fault] = [atLinks(network, start.map((w) => w / total)), atLinks(network, belief.columns)];
  const speaks = speaksOf(network, seen, settings, besideWhich(belief, fault, settings));
  const shown = atLinks(network, start.map((w, i) => (w / total) * Math.exp(speaks[i])));
  const links = [...before.keys()].filter((link) => link && before.get(link));
  return new Map(links.map((link) => {
    const [was, now] = [before.get(link), fault.get(link)];
    return [link, seen.length ? linkState(was, now, shown.get(link) / was, settings.conclude_at) : "unknown"];
  }));
}

// By column -> summed by the link at which the fault of a column starts; '' for those at none.
function atLinks({ begins }, columns) {
  const found = new Map(begins.map((link) => [link, 0]));
  begins.forEach((link, i) => found.set(link, found.get(link) + columns[i + 1]));
  return found;
}

function linkState(before, fault, speaks, brokenFrom) {
  if (fault >= brokenFrom) return "broken";
  if (speaks <= PROVED && fault <= GOOD_BELOW) return "good";
  return fault >= DOUBT_FROM || fault >= Math.max(RISEN_TO, RISEN * before) ? "doubt" : "unknown";
}

// The likeliest column at a link that is broken, 0 where none is.
function besideWhich({ network: { begins }, columns }, fault, settings) {
  let most = 0;
  begins.forEach((link, i) => {
    const broken = link && fault.get(link) >= settings.conclude_at;
    if (broken && (!most || columns[i + 1] > columns[most])) most = i + 1;
  });
  return most;
}

// ln of how many times more probable what was seen is with each column beside one than without it.
function speaksOf({ tables, size, temper }, seen, settings, beside) {
  const total = new Float64Array(size);
  for (const observation of seen) {
    const table = tables.get(observation.finding);
    const weight = evidenceWeight(table, observation.state, slipOf(settings, observation));
    const without = Math.log(besides(table, weight, beside, 0));
    for (const i of table.linked) total[i] += temper * (Math.log(besides(table, weight, beside, i)) - without);
  }
  return total;
}

// sum_k weight_k * P(state k | two columns).
function besides({ leak, rows, own, groups, excess }, weight, i, j) {
  const beyond = excess?.[groups[i]][groups[j]];
  const last = weight.length - 1;
  return weight.slice(0, last).reduce((found, w, k) => {
    const both = rows[k][i] * rows[k][j] + (beyond ? own[k][i] * own[k][j] * beyond[k] : 0);
    return found + (w - weight[k + 1]) * leak[k] * both;
  }, weight[last]);
}
