// Which effects are there when two kinds of way are at once, for all pairs together; see diagnose/core/pairs.py and
// compile.py, whose words are kept here.

// Effect -> (kinds x kinds) 0 or 1; effects that are nowhere are left out. In the order of the chain.
function thereTogether(links, kinds) {
  const count = kinds.length;
  const on = new Map();
  for (const effect of links.order) {
    const found = either(kinds.map((kind) => kind.starts.includes(effect)));
    for (const step of stepsInto(kinds, effect)) {
      if (!on.has(step[0])) continue;
      const taken = both(either(kinds.map((kind) => kind.steps.some((s) => same(s, step)))), on.get(step[0]));
      for (const z of cutting(links, on, step)) takeAway(taken, on.get(z));
      for (let i = 0; i < taken.length; i += 1) found[i] |= taken[i];
    }
    for (const z of hiding(links, on, effect)) takeAway(found, on.get(z));
    if (found.includes(1)) on.set(effect, found);
  }
  return { count, on };
}

function either(has) {
  const found = new Uint8Array(has.length * has.length);
  has.forEach((one, i) => has.forEach((two, j) => { if (one || two) found[i * has.length + j] = 1; }));
  return found;
}

const both = (one, two) => one.map((x, i) => x & two[i]);

function takeAway(found, other) {
  for (let i = 0; i < found.length; i += 1) found[i] &= 1 - other[i];
}

function stepsInto(kinds, effect) {
  const found = new Map();
  for (const kind of kinds) for (const step of kind.steps) if (step[1] === effect) found.set(step[0], step);
  return [...found.values()].sort((a, b) => byCodeUnit(a[0], b[0]));
}

function cutting({ kb, place }, on, [a, b]) {
  const link = kb.effects.get(a).link;
  return [...on.keys()].filter((z) => kb.effects.get(z).blocks.includes(link) && z !== a && z !== b
    && place.get(z) <= place.get(b));
}

function hiding({ kb, reach }, on, effect) {
  const link = kb.effects.get(effect).link;
  return [...on.keys()].filter((z) => kb.effects.get(z).hides.includes(link) && !reach.get(z).has(effect));
}

// Kinds that are alike for some effects: `group[kind]`, 0 where it bears on none of them; `codes[g][h]`: which of the
// effects are there when two groups are at once, a bit each, of a gate with several devices more than a number's 32.
// Most kinds add to each other; those that mask do not, nor those that are masked.
function alikeKinds(effects, { count, on }, masking) {
  const at = effects.map((e) => on.get(e)).map((there, bit) => [there, 1n << BigInt(bit)]).filter(([there]) => there);
  const code = (i, j) => at.reduce((sum, [there, bit]) => (there[i * count + j] ? sum | bit : sum), 0n);
  const near = [...Array(count).keys()].filter((i) => masking[i] || code(i, i));
  const numbers = new Map();
  const members = [null];
  const group = new Int32Array(count);
  const others = near.filter((j) => masking[j]);
  for (const i of near) {
    const row = (masking[i] ? near : others).map((j) => [code(i, j), code(i, i) | code(j, j)]);
    const deviates = row.some(([there, sum]) => there !== sum);
    if (!deviates && !code(i, i)) continue;
    const key = deviates ? near.map((j) => code(i, j)).join() : code(i, i);
    if (!numbers.has(key)) numbers.set(key, members.push(i) - 1);
    group[i] = numbers.get(key);
  }
  const codes = members.map((i, g) => members.map((j, h) => (g && h ? code(i, j) : null)));
  return { group, codes };
}
