// Observations -> exact posterior over every set of one or two simultaneous causes.
// A set {i, j} is a cell of a symmetric matrix; cell (0, i) is cause i alone. A finding multiplies all cells of two of
// its kinds of columns by one number, and the matrix is rescaled after every finding, so nothing underflows.

class ImpossibleEvidence extends DiagnoseError {}

// The upper triangle of `weights` sums to 1 after scaling. `columns[i]` is P(column i), `marginals[i]` P(cause i).
function scaled(network, weights, logEvidence, course = null) {
  const columns = rowSums(weights, network.size);
  const total = sum(columns) / 2;
  if (!(total > 0)) {
    throw new ImpossibleEvidence("no combination of known causes explains these answers; re-check the last ones");
  }
  for (const numbers of [weights, columns]) scale(numbers, 1 / total);
  return { network, weights, columns, marginals: byCause(network, columns), logEvidence: logEvidence + Math.log(total),
    course: course && scaledCourse(course, total) };
}

function scale(numbers, factor) {
  for (let cell = 0; cell < numbers.length; cell += 1) numbers[cell] *= factor;
}

// By column -> by cause, the columns of a cause summed; entry 0 stays.
function byCause({ causes, owners }, columns) {
  if (owners.length === causes.length) return columns;
  const summed = new Float64Array(causes.length + 1);
  summed[0] = columns[0];
  owners.forEach((cause, i) => { summed[cause] += columns[i + 1]; });
  return summed;
}

function rowSums(weights, size) {
  const sums = new Float64Array(size);
  for (let i = 0, cell = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1, cell += 1) sums[i] += weights[cell];
  }
  return sums;
}

const probabilityOf = (belief, cause) => belief.marginals[belief.network.index.get(cause)];

// [cause, probability] pairs, most probable first; ties by id. To 12 places, so that no tie hangs on rounding.
function ranked(belief) {
  const pairs = belief.network.causes.map((c, i) => [c, Number(belief.marginals[i + 1].toFixed(12))]);
  return pairs.sort((a, b) => b[1] - a[1] || byCodeUnit(a[0], b[0]));
}

// The most probable sets of causes.
function likelySets(belief, most = 5) {
  const { causes } = belief.network;
  const size = causes.length + 1;
  const weights = pairsByCause(belief);
  const best = [];
  for (let i = 0; i < size; i += 1) {
    for (let j = i + 1; j < size; j += 1) {
      const p = weights[i * size + j];
      if (best.length < most || p > best[most - 1][1]) best.splice(placeFor(p, best), 0, [[i, j], p]);
      best.length = Math.min(best.length, most);
    }
  }
  return best.map(([cell, p]) => [cell.filter(Boolean).map((k) => causes[k - 1]), p]);
}

function pairsByCause({ network: { causes, owners, size }, weights }) {
  if (owners.length === causes.length) return weights;
  const of = [0, ...owners];
  const summed = new Float64Array((causes.length + 1) ** 2);
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) summed[of[i] * (causes.length + 1) + of[j]] += weights[i * size + j];
  }
  return summed;
}

function placeFor(p, best) {
  const place = best.findIndex(([, other]) => other < p);
  return place < 0 ? best.length : place;
}

// Virtual evidence for an answer that is wrong with probability `slip`, shared among the other states.
function evidenceWeight(table, state, slip) {
  const weight = table.states.map(() => slip / (table.states.length - 1));
  weight[table.states.indexOf(state)] = 1 - slip;
  return weight;
}

// sum_k weight_k * P(state k | set) for every two kinds of columns.
function byKinds(table, weight) {
  const last = weight.length - 1;
  const step = weight.slice(0, last).map((w, k) => (w - weight[k + 1]) * table.leak[k]);
  const found = new Float64Array(table.first.length ** 2);
  let cell = 0;
  for (const i of table.first) {
    for (const j of table.first) {
      found[cell] = weight[last];
      for (let k = 0; k < last; k += 1) found[cell] += step[k] * together(table, i, j, k);
      cell += 1;
    }
  }
  return found;
}

// P(state <= k) of two columns, leak left out.
function together({ rows, own, groups, excess }, i, j, k) {
  const beyond = excess?.[groups[i]][groups[j]];
  return rows[k][i] * rows[k][j] + (beyond ? own[k][i] * own[k][j] * (beyond[k] ?? 0) : 0);
}

// Every set times the factor of the kinds of its two columns, in place.
function spread(weights, { kinds, first }, factor) {
  for (let i = 0, cell = 0; i < kinds.length; i += 1) {
    const row = factor.subarray(kinds[i] * first.length, (kinds[i] + 1) * first.length);
    for (let j = 0; j < kinds.length; j += 1, cell += 1) weights[cell] *= row[kinds[j]];
  }
  return weights;
}

// The sets added up by the kinds of their two columns.
function gathered(weights, { kinds, first }) {
  const found = new Float64Array(first.length ** 2);
  for (let i = 0, cell = 0; i < kinds.length; i += 1) {
    const row = kinds[i] * first.length;
    for (let j = 0; j < kinds.length; j += 1, cell += 1) found[row + kinds[j]] += weights[cell];
  }
  return found;
}

// Belief before any check; the odds of excluded causes are multiplied by what is given of each. Two causes at once are
// reported as either, half and half.
function prior(network, complaint, excluded) {
  const left = new Map(excluded.map(([cause, share]) => [network.index.get(cause), share]));
  const owner = (i) => (i ? network.owners[i - 1] : 0);
  const chances = network.odds.map((o, i) => (i ? o * (left.get(owner(i)) ?? 1) : o));
  const together = network.together ?? (() => 1);
  const weight = (i, j) => (owner(i) === owner(j) ? 0 : chances[i] * chances[j] * together(i, j));
  const start = { ...scaled(network, pairWeights(network.size, weight), 0), logEvidence: 0 };
  if (!complaint) return start;
  const alone = network.presenting.get(complaint);
  const mixed = (i, j) => (i && j ? 0.5 * (alone[i] + alone[j]) : alone[i || j]);
  const weights = start.weights.map((w, cell) => w * mixed(Math.floor(cell / network.size), cell % network.size));
  return scaled(network, weights, 0);
}

function pairWeights(size, weight) {
  const weights = new Float64Array(size * size);
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j < size; j += 1) weights[i * size + j] = i === j ? 0 : weight(i, j);
  }
  return weights;
}
