// A person's words -> clauses of stems, with what is denied, guessed or only asked.
// Places in the text count characters as Python does: one outside the first plane (an emoji) is one, not two.

const DENIED = "!"; // stands for every word that denies
const CLAUSE_ENDS = new Set(".;:!?\n");

// The clauses of a text, in order; empty ones are left out.
function clausesOf(speech, text) {
  const parts = [];
  let tokens = [];
  for (const token of rawWords(text)) {
    const ends = CLAUSE_ENDS.has(token.raw);
    if (ends || speech.turns.includes(token.raw)) {
      parts.push(clauseOf(speech, tokens, token.raw));
      tokens = [];
    }
    if (!ends) tokens.push(token);
  }
  return [...parts, clauseOf(speech, tokens, "")].filter((clause) => clause.words.length);
}

// The words of one phrase as they are compared.
const stemsOf = (speech, text) => rawWords(text).map(({ raw }) => comparedStem(speech, raw)).filter(Boolean);

// Small letters of the same length; "doesn't" is two words.
function rawWords(text) {
  const small = text.replace(/[\u{10000}-\u{10ffff}]/gu, "\ufffd").replace(/[A-Z]/g, (c) => c.toLowerCase());
  const said = small.replace(/\u2019/g, "'");
  return [...said.matchAll(/[0-9]+(?:[.,:][0-9]+)*|[a-z]+(?:'[a-z]+)?|[.;:!?\n]|,/g)].flatMap(({ 0: word, index }) => {
    const at = { start: index, end: index + word.length };
    if (word !== "cannot" && !word.endsWith("n't")) return [{ raw: word.split("'")[0], ...at }];
    return [{ raw: word.slice(0, -3), ...at }, { raw: "not", ...at }];
  });
}

function comparedStem(speech, raw) {
  if (speech.denies.includes(raw)) return DENIED;
  return speech.dropped.includes(raw) || !/^[0-9a-z]/.test(raw) ? "" : porterStem(raw);
}

// `turns`: the word begins a circumstance; `commas`: places before which a comma stands; `said`: as it was said.
function clauseOf(speech, tokens, end) {
  const words = [];
  const commas = new Set();
  for (const { raw, ...at } of tokens) {
    const stem = raw === "," ? "" : comparedStem(speech, raw);
    if (raw === ",") commas.add(words.length);
    else if (stem) words.push({ stem, turns: speech.circumstances.includes(raw), ...at });
  }
  const said = tokens.map((t) => t.raw).join(" ");
  const supposed = speech.supposes.some((p) => `${said} `.startsWith(`${p} `));
  const [guessed, unreal] = [speech.doubts, speech.unreal].map((phrases) => saidIn(said, phrases));
  return { said, words, commas, guessed, supposed, unreal, question: end === "?" };
}

// Whether one of the phrases stands in what was said, word for word.
const saidIn = (said, phrases) => phrases.some((p) => ` ${said} `.includes(` ${p} `));
