// Causes -> the ways each shows itself along the signal chain; see diagnose/core/chain.py, whose words are kept here.

const SURE = 0.95; // from here on a step counts as taken
const LEAST_SHARE = 1e-4; // a way in fewer cases than this is not kept apart

// The effects of a knowledge base in the order of the chain, with what is known of the profile.
function chainLinks(kb, values) {
  const place = new Map([...kb.links.keys()].map((link, i) => [link, i]));
  const all = [...kb.effects.values()];
  const depth = (effect) => {
    const inside = all.filter((o) => o.link === effect.link && allSteps(o).includes(effect.id));
    return inside.length ? Math.max(...inside.map((o) => 1 + depth(o))) : effect.blocks.length ? 0 : 1;
  };
  const keyed = all.map((e) => [place.get(e.link), depth(e), e.id]);
  keyed.sort((a, b) => a[0] - b[0] || a[1] - b[1] || byCodeUnit(a[2], b[2]));
  const order = keyed.map(([, , id]) => id);
  const reach = new Map();
  for (const id of [...order].reverse()) {
    reach.set(id, new Set([id, ...allSteps(kb.effects.get(id)).flatMap((o) => [...reach.get(o)])]));
  }
  return { kb, values, order, reach, place: new Map(all.map((e) => [e.id, place.get(e.link)])) };
}

function allSteps(effect) {
  const gives = effect.calculated ? [...effect.calculated.gives.values()] : [];
  return [...effect.brings.keys(), ...gives.flatMap((g) => [...g.keys()])];
}

// Every effect that the cause can bring, straight or through another.
function effectsOf(kb, cause) {
  const seen = new Set();
  const open = [...cause.brings.keys(), ...[...cause.one_of.values()].flatMap((way) => [...way.brings.keys()])];
  while (open.length) {
    const id = open.pop();
    const { at_rest: resting } = kb.effects.get(id);
    if (!seen.has(id)) open.push(...allSteps(kb.effects.get(id)), ...(resting ? [resting] : []));
    seen.add(id);
  }
  return [...seen];
}

// Whether the cause can change the finding, of its own account or through an effect.
const bears = (kb, cause, finding) =>
  cause.signs.has(finding) || effectsOf(kb, cause).some((id) => kb.effects.get(id).shows.has(finding));

// Complaint -> its weight: of the cause itself, else the largest of what it may bring.
function complainedOf(kb, cause) {
  const words = kb.scales.complaint;
  const found = new Map();
  for (const id of effectsOf(kb, cause)) {
    for (const [c, w] of kb.effects.get(id).complaints) found.set(c, Math.max(words.get(w), found.get(c) ?? 0));
  }
  for (const [c, w] of cause.complaints) found.set(c, words.get(w));
  return found;
}

const newTrack = (starts, steps = [], choices = [], rests = false) => ({ starts, steps, choices, rests });
const trackKey = ({ starts, steps, choices }) =>
  JSON.stringify([[...starts].sort(), steps.map(String).sort(), choices.map(String).sort()]);

// Every way in which the cause shows itself along the chain, with its share of the cases; shares sum to 1.
function waysOf(links, cause) {
  const sets = cause.one_of.size ? [...cause.one_of.values()] : [{ share: 1, brings: new Map() }];
  const there = sets.flatMap((way) =>
    tracksFrom(links, new Map([...cause.brings, ...way.brings])).map(([p, track]) => [way.share * p, track]));
  const found = there.flatMap(([share, track]) => atRest(links, share, track));
  const total = sum(found.map(([share]) => share));
  const kept = found.filter(([share]) => share >= LEAST_SHARE * total);
  const all = sum(kept.map(([share]) => share));
  return kept.map(([share, track]) => [share / all, track]);
}

// A way while the trouble is there, and while it rests.
function atRest(links, share, track) {
  const rests = Math.max(0, ...track.starts.map((e) => links.kb.effects.get(e).rests));
  const there = [share * (1 - rests), track];
  return rests ? [there, [share * rests, { ...track, rests: true }]] : [there];
}

// What of a way shows when somebody looks; not what people complain of.
function seenTrack(links, track) {
  if (!track.rests) return track;
  const effects = track.starts.map((e) => links.kb.effects.get(e));
  const most = effects.reduce((a, b) => (b.rests > a.rests ? b : a));
  const there = effects.filter((e) => e.link === most.link).map((e) => e.id);
  return newTrack(most.at_rest && !there.includes(most.at_rest) ? [...there, most.at_rest] : there);
}

function tracksFrom(links, brings) {
  let begun = branches(links, "", brings).map(([p, taken]) => [p, newTrack(taken)]);
  for (const effect of links.order) begun = begun.flatMap(([p, track]) => followed(links, effect, p, track));
  return begun;
}

function followed(links, id, share, track) {
  if (!track.starts.includes(id) && !track.steps.some(([, to]) => to === id)) return [[share, track]];
  const effect = links.kb.effects.get(id);
  return readings(links, effect.calculated, track).flatMap(([granted, gives]) =>
    branches(links, id, new Map([...effect.brings, ...gives])).map(([p, taken, choices]) => {
      const known = granted && hasChoice(track, granted);
      const steps = [...track.steps, ...taken.map((to) => [id, to]).filter((s) => !track.steps.some((o) => same(o, s)))];
      const chosen = [...track.choices, ...choices, ...(granted && !known ? [granted] : [])];
      return [share * p * (granted && !known ? granted[2] : 1), newTrack(track.starts, steps, chosen)];
    }));
}

const same = (a, b) => a[0] === b[0] && a[1] === b[1];
const hasChoice = (track, choice) => track.choices.some((c) => same(c, choice));

// What follows from the profile's fact, or from each of its words where it is not known.
function readings(links, calculated, track) {
  if (!calculated) return [[null, new Map()]];
  const word = links.values[calculated.fact];
  if (isText(word) && calculated.gives.has(word)) return [[null, calculated.gives.get(word)]];
  const total = sum([...calculated.unknown.values()]);
  const fact = plainEntry(calculated.fact); // one choice for all devices that it is not known of: they are wired alike
  const mayBe = [...calculated.unknown].map(([w, share]) => [fact, w, share / total]);
  const taken = mayBe.filter((choice) => hasChoice(track, choice));
  return (taken.length ? taken : mayBe).map((choice) => [choice, calculated.gives.get(choice[1])]);
}

// Every combination of the steps that may or may not be taken, with its chance.
function branches(links, id, brings) {
  let found = [[1, [], []]];
  for (const [to, how] of brings) {
    const p = strength(how, links.kb.scales);
    const what = `${id}>${to}`;
    found = p >= SURE
      ? found.map(([share, taken, chosen]) => [share, [...taken, to], chosen])
      : [...found.map(([share, taken, chosen]) => [share * p, [...taken, to], [...chosen, [what, "yes", p]]]),
        ...found.map(([share, taken, chosen]) => [share * (1 - p), taken, [...chosen, [what, "no", 1 - p]]])];
  }
  return found;
}

// By how much more often two ways go together than if they were independent; 0 where they contradict.
function inStep(one, two) {
  let factor = 1;
  for (const choice of two.choices) {
    const other = one.choices.find(([what]) => what === choice[0]);
    if (other && other[1] !== choice[1]) return 0;
    if (other) factor /= choice[2];
  }
  return factor;
}

// The effects that are really there on a track, with blocking and hiding.
function activeEffects(links, { starts, steps }) {
  const { kb, place, reach, order } = links;
  const on = [];
  const cut = (a, b) => on.some((z) => kb.effects.get(z).blocks.includes(kb.effects.get(a).link)
    && z !== a && z !== b && place.get(z) <= place.get(b));
  const hidden = (id) => on.some((z) => kb.effects.get(z).hides.includes(kb.effects.get(id).link)
    && !reach.get(z).has(id));
  for (const id of order) {
    const brought = steps.some(([a, b]) => b === id && on.includes(a) && !cut(a, b));
    if ((starts.includes(id) || brought) && !hidden(id)) on.push(id);
  }
  return new Set(on);
}
