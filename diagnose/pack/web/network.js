// Knowledge -> the numbers inference works on: causes above, findings below, noisy-MAX between them.
// Leak convention: net (Diez). For states 0..K-1 from normal to abnormal,
//   P(state <= k | causes present) = leak_k * product over present causes i of c_ik, all cumulative.

const applicable = (cause, devices) =>
  !cause.devices.length || !devices.length || devices.some((d) => cause.devices.includes(d));

// `values`: the facts known, as far as effects depend on them. A cause has a column for each of its ways.
function compileNetwork(kb, devices, values) {
  const causes = [...kb.causes.values()].filter((c) => applicable(c, devices));
  const columns = columnsOf(kb, causes, values);
  const showing = showingEffects(columns.links);
  const tables = new Map([...kb.findings.values()].map((f) => [f.id, compileTable(f, columns, showing.get(f.id) ?? [])]));
  const index = new Map(causes.map((c, i) => [c.id, i + 1]));
  const ids = causes.map((c) => c.id);
  const owners = columns.of.map((c) => index.get(c.id));
  const presenting = presentingBy(kb, columns);
  const size = columns.of.length + 1;
  const { temper } = kb.settings;
  const places = startingLinks(kb);
  const begins = columns.of.map((cause, i) => beginsAt(kb, places, cause, columns.ways[i]));
  return { causes: ids, owners, size, index, begins, odds: odds(kb, causes, columns), presenting, tables, temper,
    together: columnsTogether(columns) };
}

// Every way of every cause; `kinds` are the tracks, each once, `alone` and `both` the effects that are there then.
function columnsOf(kb, causes, values) {
  const links = chainLinks(kb, values);
  const found = causes.flatMap((cause) => columnsOfCause(links, cause));
  const place = new Map();
  const kinds = [];
  const kindOf = found.map((column) => {
    const key = trackKey(column.shown);
    if (!place.has(key)) place.set(key, kinds.push(column.shown) - 1);
    return place.get(key);
  });
  const pairs = thereTogether(links, kinds);
  const alone = kinds.map((_, i) => new Set([...pairs.on].filter(([, there]) => there[i * kinds.length + i]).map(([e]) => e)));
  const masks = (e) => kb.effects.get(e).blocks.length || kb.effects.get(e).hides.length;
  const masking = alone.map((on) => [...on].some(masks));
  return { links, kinds, kindOf, alone, pairs, masking, ways: found.map((f) => f.ways),
    of: found.map((f) => f.cause), shares: found.map((f) => sum(f.ways.map(([share]) => share))) };
}

// A column for all ways of a cause that show the same.
function columnsOfCause(links, cause) {
  const alike = new Map();
  for (const way of waysOf(links, cause)) {
    const shown = seenTrack(links, way[1]);
    const key = trackKey(shown);
    if (!alike.has(key)) alike.set(key, { cause, shown, ways: [] });
    alike.get(key).ways.push(way);
  }
  return [...alike.values()];
}

// The link at which the fault of a column starts, in the commonest of its ways: where the cause is, by its family, unless
// it shows at an earlier one. What is the site's and shows at several devices at once starts at none of them.
function beginsAt(kb, places, cause, ways) {
  const [, most] = ways.reduce((a, b) => (b[0] > a[0] ? b : a));
  const [{ link: family }, key] = [kb.families.get(cause.family), keyOf(cause.id)];
  const at = new Set(most.starts.map((e) => kb.effects.get(e).link));
  const there = places.filter((link) => at.has(link));
  const here = there.filter((link) => keyOf(link) === key);
  const near = here.length || there.length !== 1 ? here : there;
  const own = [`${family}${AT}${key}`, family].find((link) => places.includes(link));
  return near.includes(own) ? own : places.find((link) => link === own || link === near[0]) ?? "";
}

// The links at which a fault can start: those that people are shown, of named devices each one's own.
const startingLinks = (kb) => [...kb.links.values()].filter((link) => link.short
  && (kb.gear.length < 2 || link.of !== "device" || keyOf(link.id))).map((link) => link.id);

function columnsTogether({ kinds, kindOf }) {
  if (!kinds.some((kind) => kind.choices.length)) return null;
  const factors = kinds.map((one) => kinds.map((two) => inStep(one, two)));
  return (i, j) => (i && j ? factors[kindOf[i - 1]][kindOf[j - 1]] : 1);
}

const strength = (value, scales) => (isText(value) ? scales.strength.get(value) : value);

function odds(kb, causes, columns) {
  const common = new Map(causes.map((c) => [c.id, kb.scales.frequency.get(c.common)]));
  const total = sum([...common.values()]);
  const spread = 1 - sum([...common.values()].map((x) => (x / total) ** 2));
  const scale = spread > 0 ? (2 * kb.settings.two_fault_odds) / spread : 1;
  const each = columns.of.map((cause, i) => ((scale * common.get(cause.id)) / total) * columns.shares[i]);
  return Float64Array.from([1, ...each]);
}

// complaint -> P(reported with it | the column alone): what the cause says goes before what its effects say.
// How often the cause is reported with each complaint.
function sharesOf(kb, cause, effects) {
  const { complaint: words, complaint_floor: floor } = kb.scales;
  const weight = new Map();
  for (const id of effects) {
    for (const [c, word] of kb.effects.get(id).complaints) weight.set(c, Math.max(words.get(word), weight.get(c) ?? 0));
  }
  for (const [c, word] of cause.complaints) weight.set(c, words.get(word));
  const shares = [...kb.complaints.keys()].map((c) => weight.get(c) ?? floor);
  const total = sum(shares);
  return shares.map((share) => share / total);
}

function presentingBy(kb, columns) {
  const rows = columns.of.map((cause, i) => {
    const ways = columns.ways[i].map(([share, track]) => [share, sharesOf(kb, cause, activeEffects(columns.links, track))]);
    const total = sum(ways.map(([share]) => share));
    return [...kb.complaints.keys()].map((_, k) => sum(ways.map(([share, row]) => share * row[k])) / total);
  });
  return new Map([...kb.complaints.keys()].map((c, k) => [c, Float64Array.from([0, ...rows.map((row) => row[k])])]));
}

// Distribution given for the states after the first -> cumulative over all states.
function cumulative(shown, states, scales) {
  const later = states.slice(1).map((s) => (shown.has(s) ? strength(shown.get(s), scales) : 0));
  let above = 0;
  const below = later.reverse().map((p) => 1 - (above += p));
  return [...below.reverse(), 1];
}

// For each finding the effects that show it.
function showingEffects({ kb, order }) {
  const found = new Map();
  for (const id of order) {
    for (const finding of kb.effects.get(id).shows.keys()) found.set(finding, [...(found.get(finding) ?? []), id]);
  }
  return found;
}

// `rows[k]` cumulative over the columns, entry 0 is 'no second cause'; `linked` are the entries that are not 1.
// `own[k]` is what a column's cause shows itself; `groups[i]` whose effects are alike as far as this finding goes, and
// `excess[g][h][k]` by how much two groups together differ from the product of the two, null where no two do.
// `kinds[i]`: columns of one kind show the same of this finding, as `first[kind]` does; kind 0 are those not linked.
function compileTable(finding, columns, effects) {
  const states = [...finding.states.keys()];
  const { scales, effects: all } = columns.links.kb;
  const shows = effects.map((id) => cumulative(all.get(id).shows.get(finding.id), states, scales));
  const bits = shows.map((_, bit) => 1n << BigInt(bit));
  const shown = (code) => states.map((_, k) => shows.reduce((p, c, bit) => (code & bits[bit] ? p * c[k] : p), 1));
  const { group, codes } = alikeKinds(effects, columns.pairs, columns.masking);
  const alone = codes.map((row, g) => shown(g ? row[g] : 0n));
  const ownOf = columns.of.map((cause) =>
    (cause.signs.has(finding.id) ? cumulative(cause.signs.get(finding.id), states, scales) : null));
  const here = columns.of.map((cause) => !elsewhere(columns.links.kb, finding, cause));
  const groups = Int32Array.from([0, ...columns.kindOf.map((kind, i) => (here[i] ? group[kind] : 0))]);
  const row = (k, of) => Float64Array.from([1, ...columns.of.map((_, i) => (here[i] ? of(i, k) : 1))]);
  const own = states.map((_, k) => row(k, (i) => ownOf[i]?.[k] ?? 1));
  const rows = states.map((_, k) => row(k, (i) => (ownOf[i]?.[k] ?? 1) * alone[groups[i + 1]][k]));
  const linked = [...Array(columns.of.length).keys()].map((i) => i + 1).filter((i) => here[i - 1] && (groups[i] || ownOf[i - 1]));
  const excess = excessOf(states, codes, alone, shown);
  const leak = cumulative(finding.leak, states, scales);
  return { id: finding.id, states, leak, rows, own, linked, groups, excess, ...kindsOf(linked, own, groups) };
}

function kindsOf(linked, own, groups) {
  const [places, first, kinds] = [new Map(), [0], new Int32Array(groups.length)];
  for (const i of linked) {
    const key = [groups[i], ...own.map((row) => row[i])].join();
    if (!places.has(key)) places.set(key, first.push(i) - 1);
    kinds[i] = places.get(key);
  }
  return { kinds, first };
}

function excessOf(states, codes, alone, shown) {
  let any = false;
  const beyond = codes.map((row, g) => row.map((code, h) => {
    if (code === null) return null;
    const two = shown(code);
    const excess = states.slice(1).map((_, k) => two[k] - alone[g][k] * alone[h][k]);
    if (!excess.some((x) => Math.abs(x) > 1e-12)) return null;
    any = true;
    return excess;
  }));
  return any ? beyond : null;
}

// Whether the cause is one of another kind of device than those that the finding is looked for at.
function elsewhere(kb, finding, cause) {
  const kinds = kb.checks.get(finding.check)?.devices ?? [];
  return kinds.length > 0 && cause.devices.length > 0 && !kinds.some((kind) => cause.devices.includes(kind));
}
