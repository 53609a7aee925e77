// Phrases and where they stand in a clause; what a phrase may be is said in diagnose/hear/phrases.py.

const GAP = "...";
const [MOST_BETWEEN, MOST_IN_GAP] = [1, 5];
const DENIES_AHEAD = 3; // how many words before the phrase a denial reaches over
const LEAST_MISTYPED = 5; // shorter words must be right
const COMMA_COUNTS = 2; // a comma keeps two words of a phrase as far apart as so many words
const [AWAY_BEFORE, AWAY_AFTER] = [2, 3]; // how many words from a phrase one of another place still draws it there

// [{ item, reach }]: a word with its alternatives, and how many words may stand before it.
function phraseOf(speech, text, lists) {
  const phrase = [];
  let reach = MOST_BETWEEN;
  for (const part of splitWords(text)) {
    const item = new Set(part === GAP ? [] : alternativesOf(part, lists).flatMap((each) => stemsOf(speech, each)));
    if (part === GAP) reach = MOST_IN_GAP;
    else if (item.size) {
      phrase.push({ item, reach });
      reach = MOST_BETWEEN;
    }
  }
  return phrase;
}

const alternativesOf = (part, lists) =>
  part.split("|").flatMap((each) => (each.startsWith("$") ? lists.get(each.slice(1)) : [each]));

// The stems that each word may be meant for; `known`: words that are spelt right.
const sensesOf = (clause, known) => clause.words.map(({ stem }) =>
  known.has(stem) ? [stem] : [stem, ...[...known].filter((each) => mistyped(stem, each))]);

// The places of its words, for every place where the phrase stands, is not denied and is not of somewhere else.
const phraseMatches = (phrase, clause, meant, elsewhere) =>
  meant.map((_, start) => matchFrom(phrase, clause.commas, meant, start))
    .filter((m) => m && !deniedMatch(m, clause) && !awayMatch(m, clause, elsewhere));

function matchFrom(phrase, commas, meant, start) {
  if (!phrase.length || !meets(meant[start], phrase[0].item)) return null;
  const places = [start];
  for (const { item, reach } of phrase.slice(1)) {
    const before = places[places.length - 1];
    const furthest = before + 1 + reach;
    const place = meant.findIndex((stems, k) => k > before && k <= furthest && meets(stems, item));
    if (place < 0) return null;
    const between = [...commas].filter((c) => c > before && c <= place).length;
    if (place + COMMA_COUNTS * between > furthest) return null;
    places.push(place);
  }
  return places;
}

const meets = (stems, item) => stems.some((stem) => item.has(stem));

const mistyped = (word, meant) =>
  word[0] === meant[0] && Math.min(word.length, meant.length) >= LEAST_MISTYPED && nearlySame(word, meant);

// Optimal string alignment distance of one at most: a letter more, less or other, or two neighbours changed about.
function nearlySame(a, b) {
  if (a.length > b.length) return nearlySame(b, a);
  let at = 0;
  while (at < a.length && a[at] === b[at]) at += 1;
  const [rest, other] = [a.slice(at), b.slice(at)];
  if (rest.length < other.length) return rest === other.slice(1);
  const swapped = rest[0] === other[1] && rest[1] === other[0] && rest.slice(2) === other.slice(2);
  return rest.slice(1) === other.slice(1) || swapped;
}

// Whether a word that denies, and is not of the phrase, stands in it or reaches it from before.
function deniedMatch(places, clause) {
  const [first, last] = [places[0], places[places.length - 1]];
  return clause.words.some(({ stem }, k) => {
    if (stem !== DENIED || k > last || k < first - DENIES_AHEAD) return false;
    return k < first ? denialReaches(clause, k, first) : !places.includes(k);
  });
}

// No comma between them, and no circumstance begins on the way or, but for directly after it, with the phrase.
function denialReaches({ words, commas }, denial, first) {
  for (let k = denial + 1; k <= first; k += 1) {
    if (commas.has(k) || (words[k].turns && k > denial + 1)) return false;
  }
  return true;
}

// Whether a word of another place stands in the phrase, or close to it with no comma between.
function awayMatch(places, { words, commas }, elsewhere) {
  const [first, last] = [places[0], places[places.length - 1]];
  const begin = Math.max(first - AWAY_BEFORE, ...[...commas].filter((c) => c <= first));
  const end = Math.min(last + 1 + AWAY_AFTER, ...[...commas].filter((c) => c > last));
  return words.some(({ stem }, k) => k >= begin && k < end && elsewhere.has(stem) && !places.includes(k));
}
