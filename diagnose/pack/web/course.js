// What repairs change and what lasts: one exact likelihood over what was wrong at the start and what each repair
// removed; see diagnose/core/course.py. `heard`: { repairs, state, slip }. A course is { alone, removed, repairs }:
// single causes from which nothing was removed, and for each repair { repair, own, weights }, by the column of `own`
// that was removed and the column that is left.

const CLOSE = 1e-9;
const LIKELY_WORKED = 0.5;

// What answers tell of one and the same state; the same answer again tells nothing new.
function told(table, heard) {
  const surest = new Map();
  for (const { state, slip } of heard) surest.set(state, Math.min(slip, surest.get(state) ?? 1));
  const weights = [...surest].map(([state, slip]) => evidenceWeight(table, state, slip));
  return table.states.map((_, k) => weights.reduce((product, weight) => product * weight[k], 1));
}

// How probable the answers are, given the state before that repair and the one after it.
function toldAcross(table, gone, heard) {
  const before = told(table, heard.filter((h) => h.repairs <= gone.repair));
  const after = told(table, heard.filter((h) => h.repairs > gone.repair));
  const same = told(table, heard); // where nothing changed it is one and the same look
  return before.map((p, x) => after.map((q, y) => (x === y ? same[x] : p * q)));
}

const weighed = (joint, weight) => sum(joint.map((row, x) => sum(row.map((p, y) => p * weight[x][y]))));

// The chance of each answer now, where these were all heard before that repair.
function nextAnswer(table, own, left, heard, slip) {
  const before = told(table, heard);
  const joint = beforeAndAfter(table, own, left).map((row, x) => row.map((p) => p * before[x]));
  const total = sum(joint.map(sum));
  const states = [...table.states.keys()];
  const fresh = states.map((y) => sum(states.map((x) => (x === y ? 0 : joint[x][y]))));
  const other = slip / (states.length - 1);
  const answers = fresh.map((p) => (1 - slip - other) * p + other * sum(fresh));
  answers[table.states.indexOf(heard[heard.length - 1].state)] += sum(states.map((x) => joint[x][x]));
  return answers.map((p) => p / total);
}

// P(state before, state after) where column `own` was removed and `left` is left.
function beforeAndAfter(table, own, left) {
  const states = [...table.states.keys()];
  const both = states.map((k) => table.leak[k] * together(table, own, left, k));
  const now = states.map((k) => table.leak[k] * table.rows[k][left]);
  const share = ownShare(both, now);
  const hidden = states.every((k) => Math.abs(both[k] - table.leak[k] * table.rows[k][own]) < CLOSE)
    && !states.every((k) => Math.abs(now[k] - table.leak[k]) < CLOSE);
  const lasts = !hidden && share.every((p, k) => p < 1 + CLOSE && (!k || p - share[k - 1] > -CLOSE));
  return lasts ? maximumOf(eachOf(share), eachOf(now)) : eachOf(both).map((p) => eachOf(now).map((q) => p * q));
}

// P(what the removed column shows <= k); where the other one always shows more, it makes no odds.
function ownShare(both, now) {
  const share = both.map((p, k) => (now[k] > 0 ? p / now[k] : 1));
  for (let k = share.length - 2; k >= 0; k -= 1) if (!(now[k] > 0)) share[k] = share[k + 1];
  return share;
}

const eachOf = (cumulated) => cumulated.map((p, k) => p - (k ? cumulated[k - 1] : 0));

// P(max(z, y), y).
function maximumOf(z, y) {
  const found = y.map(() => y.map(() => 0));
  z.forEach((pz, i) => y.forEach((py, j) => { found[Math.max(i, j)][j] += Math.max(pz, 0) * py; }));
  return found;
}

// Causes whose repair, more likely than not, removed a fault although the trouble went on.
function workedOf({ course }, told) {
  const mended = told.filter((step) => step.mended).map((step) => step.mended);
  const removedBy = (n) => sum((course?.removed ?? []).filter((r) => r.repair === n).map((r) => sum(r.weights.map(sum))));
  return mended.filter((_, n) => removedBy(n) > LIKELY_WORKED);
}

// The sets that are there now: `weights` with its single causes filled in, in place.
function folded(weights, { alone, removed }, size) {
  const rows = removed.flatMap((gone) => gone.weights);
  for (let j = 0; j < size; j += 1) {
    const now = rows.reduce((total, row) => total + row[j], alone[j]);
    weights[j] = now;
    weights[j * size] = now;
  }
  return weights;
}

// The sets at the start from which nothing was removed.
function intactSets({ network: { size }, weights }, { alone }) {
  return folded(weights.slice(), { alone, removed: [] }, size);
}

const mapWeights = (removed, change) =>
  removed.map((gone) => ({ ...gone, weights: gone.weights.map((row, w) => row.map((p, j) => change(p, j, w))) }));

function scaledCourse({ alone, removed, repairs }, total) {
  return { alone: alone.map((p) => p / total), removed: mapWeights(removed, (p) => p / total), repairs };
}

// Belief over what is still wrong after `cause` was repaired and the trouble is still there. A set without the
// cause is untouched; {cause, other} becomes {other}; {cause} alone is ruled out, but for a botched repair.
function stillFailing(belief, cause, botched) {
  const { network: { size, index, owners } } = belief;
  const course = belief.course ?? { alone: belief.weights.slice(0, size), removed: [], repairs: 0 };
  const own = [...owners.keys()].map((i) => i + 1).filter((i) => owners[i - 1] === index.get(cause));
  const intact = intactSets(belief, course);
  const gone = own.map((at) => intact.slice(at * size, (at + 1) * size).map((p, j) => (j ? (1 - botched) * p : 0)));
  for (const at of own) {
    for (let j = 0; j < size; j += 1) {
      intact[at * size + j] *= botched;
      intact[j * size + at] *= botched;
    }
  }
  const removed = mapWeights(course.removed, (p, j) => (own.includes(j) ? p * botched : p));
  removed.push({ repair: course.repairs, own, weights: gone });
  const after = { alone: intact.slice(0, size), removed, repairs: course.repairs + 1 };
  return scaled(belief.network, folded(intact, after, size), belief.logEvidence, after);
}

// Belief after one observation that is wrong with chance `slip`; `before`: what was heard of it earlier.
function absorb(belief, seen, slip, before = []) {
  const { network: { size, temper, tables }, course } = belief;
  const table = tables.get(seen.finding);
  const now = [...before, { repairs: course?.repairs ?? 0, state: seen.state, slip }];
  const old = byKinds(table, told(table, before));
  const factor = byKinds(table, told(table, now)).map((p, cell) => (p / old[cell]) ** temper);
  if (!course) return scaled(belief.network, spread(belief.weights.slice(), table, factor), belief.logEvidence);
  const after = { alone: course.alone.map((p, j) => p * factor[table.kinds[j]]), repairs: course.repairs,
    removed: course.removed.map((gone) => moreHeard(table, gone, before, now, temper)) };
  const intact = spread(intactSets(belief, course), table, factor);
  return scaled(belief.network, folded(intact, after, size), belief.logEvidence, after);
}

// The sets with something removed, after one more answer.
function moreHeard(table, gone, before, now, temper) {
  const [old, wider] = [before, now].map((heard) => toldAcross(table, gone, heard));
  const factor = gone.own.map((own) => table.first.map((left) => {
    const joint = beforeAndAfter(table, own, left);
    return (weighed(joint, wider) / weighed(joint, old)) ** temper;
  }));
  return mapWeights([gone], (p, j, w) => p * factor[w][table.kinds[j]])[0];
}

// P(column present, answer = state) per state of a finding that was heard of before the last repair: what no repair
// has changed shows the same again. Entry 0 of a row is 'exactly one cause'.
function heardAgain(belief, table, before, slip) {
  const { network: { size } } = belief;
  const course = belief.course ?? { alone: belief.weights.slice(0, size), removed: [] };
  const last = table.states.indexOf(before[before.length - 1].state);
  const rows = table.states.map(() => new Float64Array(size));
  rows[last] = rowSums(intactSets(belief, course), size);
  for (const gone of course.removed) {
    const since = before.some((h) => h.repairs > gone.repair);
    const same = table.states.map((_, k) => Number(k === last));
    gone.own.forEach((own, w) => {
      const shares = table.first.map((left) => (since ? same : nextAnswer(table, own, left, before, slip)));
      gone.weights[w].forEach((p, j) => {
        if (p) shares[table.kinds[j]].forEach((chance, k) => { rows[k][j] += p * chance; rows[k][0] += p * chance; });
      });
    });
  }
  return rows;
}
