// Belief -> the next check, by what it saves in expected minutes to a proven repair, or by what its information is
// worth, whichever is larger; checks behind the same closed cover are judged together, by their best prefix.

const TINY = 1e-300; // keeps an impossible cause from dividing by zero
const NEAR = 1e-5; // columns with less chance are left out of what a check promises
const PARTNER = 3e-4; // second columns with less are taken all together, as they are on average
const CLOSELY = 128; // checks looked at closely, of those that a glance says can tell most per minute

// An option is {check, finding, own, group, opening}; `repair[i]` are minutes of remedy and proof of cause i.
// `best` holds the gains of the options that can tell most per minute; `gains` those of all, worked out when asked.
function lookAhead(belief, heard, options, repair, specialist, slip) {
  const near = { ...nearBelief(belief), belief, heard };
  const order = Int32Array.from(belief.network.causes.keys()).map((i) => i + 1);
  const now = expectedCost(near.marginals, repair, specialist, order);
  const price = options.length > 1 ? bitPrice(near.marginals, repair, specialist, now) : 0; // the last has no later
  const gainsOf = (some) => some.map((option) => gainOf(near, option, { repair, specialist, slip, now, price, order }));
  const best = gainsOf(options.length > CLOSELY ? telling(belief, options) : options);
  const of = (wanted) => gainsOf(options.filter((o) => wanted(o.check)));
  return { now, options, best, of, get gains() { return options.length > CLOSELY ? gainsOf(options) : best; } };
}

function telling(belief, options) {
  const rate = options.map((o) => glance(belief, belief.network.tables.get(o.finding)) / o.own);
  const order = [...options.keys()].sort((i, j) => rate[j] - rate[i] || i - j);
  return order.slice(0, CLOSELY).sort((i, j) => i - j).map((i) => options[i]);
}

// Bits that an answer tells at most, single-fault reading: of a state shown with probability L by a cause and P by
// all, log2(1 + Var(L) / P^2).
function glance({ columns }, table) {
  const total = sumFrom(columns, 1);
  let bits = 0;
  table.rows.slice(0, -1).forEach((row, k) => {
    let [mean, square] = [0, 0];
    for (let i = 1; i < columns.length; i += 1) {
      mean += row[i] * columns[i];
      square += row[i] * row[i] * columns[i];
    }
    const below = Math.min(Math.max((table.leak[k] * mean) / total, TINY), 1 - 1e-12);
    const spread = Math.max((table.leak[k] ** 2 * square) / total - below ** 2, 0);
    bits += below * Math.log2(1 + spread / below ** 2) + (1 - below) * Math.log2(1 + spread / (1 - below) ** 2);
  });
  return bits;
}

// A belief without its unlikely columns, which are 0 here. `partners` are looked at closely as the second of two;
// `withOthers[i]` is the weight of sets of a column and another second one, which is j with chance `average[j]`.
function nearBelief({ network, weights, columns: all }) {
  const columns = all.map((p, i) => (i && p <= NEAR ? 0 : p));
  const partners = [...columns.keys()].filter((i) => !i || columns[i] > PARTNER);
  const withOthers = columns.slice();
  for (const p of partners) {
    for (let i = 0; i < network.size; i += 1) if (columns[i]) withOthers[i] -= weights[p * network.size + i];
  }
  const average = columns.map((p, i) => (p && i && p <= PARTNER ? p - weights[i] : 0));
  const total = Math.max(sum(average), TINY);
  const marginals = byCause(network, columns);
  return { network, weights, columns, partners, withOthers, average: average.map((p) => p / total), marginals };
}

function gainOf(near, option, terms) {
  const joints = promised(near, near.network.tables.get(option.finding), terms.slip);
  const sums = joints.map((joint) => joint[0] + sumFrom(joint, 1));
  const chances = sums.map((one) => one / sum(sums)); // whole without the unlikely too
  let [saves, bits] = [terms.now, 0];
  joints.forEach((joint, k) => {
    const chance = chances[k];
    for (let i = 1; i < joint.length; i += 1) joint[i] = Math.max(joint[i], TINY);
    saves -= chance * expectedCost(joint, terms.repair, terms.specialist, terms.order.slice());
    bits += chance * surprise(near.marginals, joint);
  });
  bits = Math.max(bits, 0);
  const worth = bits * terms.price;
  return { option, minutes: option.own + option.opening, saves, bits, worth, chances, value: Math.max(saves, worth) };
}

// P(cause present, answer = state) per state; entry 0 is 'exactly one cause', so a row sums to 2 P(state).
function promised(near, table, slip) {
  const before = near.heard.get(table.id);
  if (before) {
    const rows = heardAgain(near.belief, table, before, slip);
    return rows.map((row) => byCause(near.network, row.map((p, i) => (near.columns[i] ? p : 0))));
  }
  return heardFirst(near, table, slip);
}

function heardFirst(near, table, slip) {
  const other = slip / (table.states.length - 1);
  let before = null;
  return table.rows.map((row, k) => {
    const below = atMost(near, table, row, k);
    const exact = before ? below.map((x, i) => x - before[i]) : below;
    const joint = exact.map((x, i) => (1 - slip - other) * x + other * near.columns[i]);
    before = below;
    return byCause(near.network, joint);
  });
}

// P(cause present, state <= k). Only linked causes change the sum over second causes from the marginal.
function atMost(near, table, row, k) {
  const { network: { size }, weights, columns, partners, withOthers, average } = near;
  const below = columns.slice();
  for (const p of partners) {
    const change = row[p] - 1;
    if (change === 0) continue;
    for (let i = 0, cell = p * size; i < size; i += 1, cell += 1) if (columns[i]) below[i] += change * weights[cell];
  }
  const others = sum(table.linked.map((i) => average[i] * (row[i] - 1)));
  for (let i = 0; i < size; i += 1) below[i] = (below[i] + others * withOthers[i]) * row[i];
  if (table.excess && k < table.rows.length - 1) addPartners(below, near, table, k);
  return below.map((p) => p * table.leak[k]);
}

// What partners that share an effect with a column, or hide it, differ by from independent ones.
function addPartners(below, { network: { size }, weights, columns }, { linked, own, groups, excess }, k) {
  const near = linked.filter((i) => columns[i] > PARTNER && excess[groups[i]].some(Boolean));
  const present = [...new Set(near.map((i) => groups[i]))];
  const sums = new Float64Array(excess.length);
  for (const i of near) {
    sums.fill(0);
    for (const j of near) sums[groups[j]] += own[k][j] * weights[i * size + j];
    for (const g of present) {
      const beyond = excess[groups[i]][g];
      if (beyond) below[i] += own[k][i] * beyond[k] * sums[g];
    }
  }
}

// Bits an answer tells about which cause it is, single-fault reading: a KL divergence.
function surprise(marginals, joint) {
  const [before, after] = [sumFrom(marginals, 1), sumFrom(joint, 1)];
  let bits = 0;
  for (let i = 1; i < joint.length; i += 1) {
    const share = joint[i] / after;
    bits += share * Math.log2(share / Math.max(marginals[i] / before, TINY));
  }
  return bits;
}

// Minutes that knowing the cause outright would save, per bit that is still open.
function bitPrice(marginals, repair, specialist, now) {
  const total = sumFrom(marginals, 1);
  let [known, open] = [0, 0];
  for (let i = 1; i < marginals.length; i += 1) {
    const share = Math.max(marginals[i] / total, TINY);
    known += share * Math.min(repair[i], specialist);
    open -= share * Math.log2(share);
  }
  return Math.max(0, now - known) / Math.max(open, 1e-6);
}

// The check to ask next, or null when concluding is cheaper.
function choose(gains) {
  const rated = gains.map((g) => [rounded9(groupRate(g, gains)), g.bits / g.minutes, g]);
  return firstLargest(rated.filter(([rate]) => rate > 1));
}

// The check that tells most bits per minute, if any tells more than `least`.
function mostTelling(gains, least = 0) {
  return firstLargest(gains.map((g) => [g.bits / g.minutes, g.saves, g]).filter(([rate]) => rate > least));
}

function firstLargest(rated) {
  let best = null;
  for (const r of rated) if (!best || r[0] > best[0] || (r[0] === best[0] && r[1] > best[1])) best = r;
  return best ? best[2] : null;
}

// Value per minute spent; a closed group lends its best prefix to its best check.
function groupRate(gain, gains) {
  const ownRate = gain.value / gain.minutes;
  if (!gain.option.opening) return ownRate;
  const inside = gains.filter((g) => g.option.group === gain.option.group);
  inside.sort((a, b) => b.value / b.option.own - a.value / a.option.own);
  if (inside[0] !== gain) return ownRate;
  let [spent, saved, best] = [gain.option.opening, 0, ownRate];
  for (const other of inside) {
    spent += other.option.own;
    saved += other.value;
    best = Math.max(best, saved / spent);
  }
  return best;
}
