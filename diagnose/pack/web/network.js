// Knowledge -> the numbers inference works on: causes above, findings below, noisy-MAX between them.
// Leak convention: net (Diez). For states 0..K-1 from normal to abnormal,
//   P(state <= k | causes present) = leak_k * product over present causes i of c_ik, all cumulative.

const applicable = (cause, devices) =>
  !cause.devices.length || !devices.length || devices.some((d) => cause.devices.includes(d));

function compileNetwork(kb, devices) {
  const causes = [...kb.causes.values()].filter((c) => applicable(c, devices));
  const tables = new Map([...kb.findings.values()].map((f) => [f.id, compileTable(f, causes, kb.scales)]));
  const index = new Map(causes.map((c, i) => [c.id, i + 1]));
  const presenting = new Map([...kb.complaints.keys()].map((c) => [c, presentingWith(c, causes, kb)]));
  const ids = causes.map((c) => c.id);
  const { temper } = kb.settings;
  return { causes: ids, size: ids.length + 1, index, odds: odds(causes, kb), presenting, tables, temper };
}

const strength = (value, scales) => (isText(value) ? scales.strength.get(value) : value);

function odds(causes, kb) {
  const common = causes.map((c) => kb.scales.frequency.get(c.common));
  const share = common.map((x) => x / sum(common));
  const spread = 1 - sum(share.map((x) => x * x));
  const scale = spread > 0 ? (2 * kb.settings.two_fault_odds) / spread : 1;
  return Float64Array.from([1, ...share.map((x) => scale * x)]);
}

function presentingWith(complaint, causes, kb) {
  const { complaint: words, complaint_floor: floor } = kb.scales;
  const weight = (cause, c) => (cause.complaints.has(c) ? words.get(cause.complaints.get(c)) : floor);
  const share = (cause) => weight(cause, complaint) / sum([...kb.complaints.keys()].map((c) => weight(cause, c)));
  return Float64Array.from([0, ...causes.map(share)]);
}

// Distribution given for the states after the first -> cumulative over all states.
function cumulative(shown, states, scales) {
  const later = states.slice(1).map((s) => (shown.has(s) ? strength(shown.get(s), scales) : 0));
  let above = 0;
  const below = later.reverse().map((p) => 1 - (above += p));
  return [...below.reverse(), 1];
}

// `rows[k]` cumulative over the causes, entry 0 is 'no second cause'; `linked` are the entries that are not 1.
function compileTable(finding, causes, scales) {
  const states = [...finding.states.keys()];
  const rows = states.map(() => new Float64Array(causes.length + 1).fill(1));
  const linked = [];
  causes.forEach((cause, i) => {
    if (!cause.signs.has(finding.id)) return;
    linked.push(i + 1);
    cumulative(cause.signs.get(finding.id), states, scales).forEach((c, k) => { rows[k][i + 1] = c; });
  });
  return { id: finding.id, states, leak: cumulative(finding.leak, states, scales), rows, linked };
}
