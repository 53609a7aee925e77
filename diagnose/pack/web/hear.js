// A text -> what was heard in it: { complaints, facts, dangers }, as diagnose/hear/reader.py has them.

const GUESSED = 0.5; // of the weight of what is said outright
const listeners = new WeakMap(); // a knowledge base's phrases are read once

// Nothing is heard where it is denied, asked, or only supposed.
function hear(kb, text) {
  if (!listeners.has(kb)) listeners.set(kb, listenerOf(kb));
  const found = clausesOf(kb.speech, text).flatMap((clause) => heardIn(listeners.get(kb), clause));
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
    texts.map((text) => ({ about: id, option, phrase: phraseOf(kb.speech, text, lists) }))));
  const away = hearings.map((h) => [h.id, new Set(h.elsewhere.flatMap((each) => stemsOf(kb.speech, each)))]);
  const spelt = phrases.flatMap(({ phrase }) => phrase.flatMap(({ item }) => [...item]));
  const small = kb.speech.supposes.flatMap((text) => stemsOf(kb.speech, text));
  const known = new Set([...spelt, ...small, ...away.flatMap(([, stems]) => [...stems])]);
  return { hearings, phrases, elsewhere: new Map(away), known };
}

function heardIn({ hearings, phrases, elsewhere, known }, clause) {
  const meant = sensesOf(clause, known);
  const silent = new Set(hearings.filter((h) => saysNothing(h, clause)).map((h) => h.id));
  return phrases.filter(({ about }) => !silent.has(about)).flatMap(({ about, option, phrase }) =>
    phraseMatches(phrase, clause, meant, elsewhere.get(about)).map((at) => heardAs(about, option, at, clause)));
}

// What is only supposed or long past says nothing; a question states no fact, though it may tell of a danger.
function saysNothing({ id, mere, settled }, { said, supposed, question }) {
  const habit = mere.length && said.startsWith("if ") && !saidIn(said, mere);
  return (supposed && !habit) || (question && id !== "danger") || saidIn(said, settled);
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
