// A caller's free words -> the complaints they sound most like. Shown for choosing, never chosen for the person.

const ALMOST_THE_SAME = 0.9; // cosine

// Complaint ids, best first: one told in the knowledge's own words, those that phrases speak for, those of the nearest
// wording.
function matchComplaint(kb, words, most = 3) {
  const heard = hear(kb, words).complaints.map(([c]) => c).filter((c) => kb.complaints.has(c));
  const near = nearestComplaints(kb, words);
  const same = near.filter(([, score]) => score > ALMOST_THE_SAME).map(([c]) => c);
  return unique([...same, ...heard, ...near.map(([c]) => c)]).slice(0, most);
}

// By character trigrams weighted tf-idf.
function nearestComplaints(kb, words) {
  const phrases = [...kb.complaints.values()].flatMap((c) => [c.says, ...c.caller_says].map((p) => [c.id, p]));
  const grams = phrases.map(([complaint, phrase]) => [complaint, counted(trigrams(phrase))]);
  const spread = counted(grams.flatMap(([, counts]) => [...counts.keys()]));
  const rarity = new Map([...spread].map(([g, n]) => [g, Math.log(1 + grams.length / n)]));
  const query = weighted(counted(trigrams(words)), rarity);
  const best = new Map();
  for (const [complaint, counts] of grams) {
    best.set(complaint, Math.max(best.get(complaint) ?? 0, cosine(query, weighted(counts, rarity))));
  }
  const order = [...best.keys()].sort((a, b) => best.get(b) - best.get(a) || byCodeUnit(a, b));
  return order.map((c) => [c, best.get(c)]).filter(([, score]) => score > 0.05);
}

// Complaint ids, the ones heard most often first: frequency of each cause times its words for the complaint.
function byCommonness(kb) {
  const { frequency, complaint_floor: floor } = kb.scales;
  const weight = new Map([...kb.complaints.keys()].map((c) => [c, 0]));
  for (const cause of kb.causes.values()) {
    const words = complainedOf(kb, cause);
    const total = sum([...weight.keys()].map((c) => words.get(c) ?? floor));
    for (const [c, word] of words) weight.set(c, weight.get(c) + (frequency.get(cause.common) * word) / total);
  }
  return [...weight.keys()].sort((a, b) => weight.get(b) - weight.get(a) || byCodeUnit(a, b));
}

function trigrams(text) {
  const clean = [...text.toLowerCase()].map((c) => (/[\p{L}\p{N}]/u.test(c) ? c : " ")).join("");
  const padded = [...["", ...splitWords(clean), ""].join(" ")];
  return padded.slice(0, Math.max(padded.length - 2, 0)).map((_, i) => padded.slice(i, i + 3).join(""));
}

function counted(items) {
  const counts = new Map();
  for (const item of items) counts.set(item, (counts.get(item) ?? 0) + 1);
  return counts;
}

const weighted = (counts, rarity) =>
  new Map([...counts].filter(([g]) => rarity.has(g)).map(([g, n]) => [g, n * rarity.get(g)]));

function cosine(a, b) {
  const dot = sum([...a].map(([g, w]) => w * (b.get(g) ?? 0)));
  const square = (v) => sum([...v.values()].map((w) => w * w));
  const size = Math.sqrt(square(a) * square(b));
  return size ? dot / size : 0;
}
