// A text -> what was heard in it: { complaints, facts, dangers }, as diagnose/hear/reader.py has them.

const GUESSED = 0.5; // of the weight of what is said outright
const MOST_LATER = 2; // clauses in which what belongs to a phrase may follow
const LATER = 0.5; // of a word's weight is lost with each clause on the way
const listeners = new WeakMap(); // a knowledge base's phrases are read once

// Nothing is heard where it is denied, asked, or only supposed.
function hear(kb, text) {
  if (!listeners.has(kb)) listeners.set(kb, listenerOf(kb));
  const listener = listeners.get(kb);
  const apart = notTalkedOf(listener, new Set(stemsOf(kb.speech, text)));
  const heard = clausesOf(kb.speech, text).map((clause) => listeningTo(listener, clause, apart));
  const found = heard.flatMap((_, k) => heardIn(listener, heard.slice(k, k + 1 + MOST_LATER)));
  const dangers = new Map(found.filter((h) => h.about === "danger").reverse().map((h) => [h.option, h]));
  return {
    complaints: heardComplaints(found.filter((h) => h.about === "complaint")),
    facts: heardFacts(found.filter((h) => h.about !== "complaint" && h.about !== "danger")),
    dangers: [...dangers.values()].sort((a, b) => a.start - b.start),
  };
}

function listenerOf(kb) {
  const hearings = [...kb.heard.values()];
  const phrases = hearings.flatMap(({ id, options, lists }) => [...options].flatMap(([option, texts]) =>
    texts.flatMap((text) => phrasesOf(kb.speech, text, lists).map((phrase) => ({ about: id, option, phrase })))));
  const stemmed = (words) => new Set(words.flatMap((each) => stemsOf(kb.speech, each)));
  const of = (field) => new Map(hearings.map((h) => [h.id, stemmed(h[field])]));
  const [elsewhere, amid, never] = ["elsewhere", "amid", "never_amid"].map(of);
  const spelt = phrases.flatMap(({ phrase }) => phraseItems(phrase).flatMap((item) => [...item]));
  const away = [...elsewhere.values()].flatMap((stems) => [...stems]);
  const known = new Set([...spelt, ...stemmed(kb.speech.supposes), ...away]);
  return { hearings, phrases, begins: beginningsOf(phrases), elsewhere, amid, never, known };
}

// The places of the phrases by the stems that they begin with.
function beginningsOf(phrases) {
  const begins = new Map();
  phrases.forEach(({ phrase }, k) => (phraseItems(phrase)[0] ?? []).forEach((stem) => {
    if (!begins.has(stem)) begins.set(stem, []);
    begins.get(stem).push(k);
  }));
  return begins;
}

// The hearings whose things are not talked of in the whole text.
function notTalkedOf({ hearings, amid, never }, said) {
  const meetsSaid = (stems) => [...stems].some((stem) => said.has(stem));
  const talked = ({ id }) => (!amid.get(id).size || meetsSaid(amid.get(id))) && !meetsSaid(never.get(id));
  return hearings.filter((each) => !talked(each)).map((each) => each.id);
}

// A clause, what its words may be meant for, and for which hearings it says nothing.
function listeningTo({ hearings, known }, clause, apart) {
  const silent = new Set([...apart, ...hearings.filter((h) => saysNothing(h, clause)).map((h) => h.id)]);
  return { clause, meant: sensesOf(clause, known), silent };
}

// What the first of these clauses says, with what follows it.
function heardIn(listener, heard) {
  const [{ clause, meant }] = heard;
  const places = new Set(meant.flat().flatMap((stem) => listener.begins.get(stem) ?? []));
  return [...places].sort((a, b) => a - b).flatMap((place) => {
    const { about, option, phrase } = listener.phrases[place];
    const ones = matchesIn(listener, about, phrase, heard[0]).map((at) => heardAs(about, option, at, clause));
    return phrase.then ? ones.flatMap((one) => followedBy(listener, one, phrase.then, heard)) : ones;
  });
}

const matchesIn = ({ elsewhere }, about, phrase, { clause, meant, silent }) =>
  silent.has(about) ? [] : phraseMatches(phrase, clause, meant, elsewhere.get(about));

// With the first that follows: the later, the less it says.
function followedBy(listener, one, then, heard) {
  for (let later = 0; later < heard.length; later += 1) {
    const [at] = matchesIn(listener, one.about, then, heard[later]);
    if (at) return [bothHeard(one, heardAs(one.about, one.option, at, heard[later].clause), later)];
  }
  return [];
}

const bothHeard = (one, following, later) => ({
  ...one,
  start: Math.min(one.start, following.start),
  end: Math.max(one.end, following.end),
  weight: one.weight + following.weight - LATER * later,
  sure: one.sure && following.sure,
});

// What is only supposed or long past says nothing; a question or theory states no fact, but may tell of danger.
function saysNothing({ id, mere, settled }, { said, supposed, unreal, question }) {
  const habit = mere.length && said.startsWith("if ") && !saidIn(said, mere);
  if (supposed && !habit) return true;
  return (id !== "danger" && (question || (unreal && id !== "complaint"))) || saidIn(said, settled);
}

function heardAs(about, option, places, clause) {
  const taken = places.map((k) => clause.words[k]);
  const weight = taken.length * (clause.guessed ? GUESSED : 1);
  return { about, option, start: taken[0].start, end: taken[taken.length - 1].end, weight, sure: !clause.guessed };
}

// What speaks for each complaint: a stretch of the text counts once, by its longest phrase.
function heardComplaints(found) {
  const speaks = new Map();
  for (const { option, start, weight } of found) {
    if (!speaks.has(option)) speaks.set(option, new Map());
    const at = speaks.get(option);
    at.set(start, Math.max(at.get(start) ?? 0, weight));
  }
  const total = [...speaks].map(([complaint, at]) => [complaint, sum([...at.values()])]);
  return total.sort(([a, x], [b, y]) => y - x || byCodeUnit(a, b));
}

// One answer to each check: what most words speak for, and of these what was said first.
function heardFacts(found) {
  const best = new Map();
  for (const each of [...found].sort((a, b) => b.weight - a.weight || a.start - b.start)) {
    if (!best.has(each.about)) best.set(each.about, each);
  }
  return [...best.values()].sort((a, b) => a.start - b.start || byCodeUnit(a.about, b.about));
}
