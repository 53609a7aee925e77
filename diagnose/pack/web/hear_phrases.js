// Phrases and where they stand in a clause; what a phrase may be is said in diagnose/hear/phrases.py.

const GAP = "...";
const [MOST_BETWEEN, MOST_IN_GAP] = [1, 5];
const DENIES_AHEAD = 3; // how many words before the phrase a denial reaches over
const LEAST_MISTYPED = 5; // shorter words must be right

// [{ item, reach }]: a word with its alternatives, and how many words may stand before it.
function phraseOf(speech, text) {
  const phrase = [];
  let reach = MOST_BETWEEN;
  for (const part of splitWords(text)) {
    const item = part === GAP ? [] : unique(part.split("|").flatMap((each) => stemsOf(speech, each)));
    if (part === GAP) reach = MOST_IN_GAP;
    else if (item.length) {
      phrase.push({ item, reach });
      reach = MOST_BETWEEN;
    }
  }
  return phrase;
}

// The places of its words, for every place where the phrase stands and is not denied.
const phraseMatches = (phrase, clause, known) =>
  clause.words.map((_, start) => matchFrom(phrase, clause, known, start)).filter((m) => m && !deniedMatch(m, clause));

function matchFrom([first, ...others], { words }, known, start) {
  if (!first || !sameWord(words[start].stem, first.item, known)) return null;
  const places = [start];
  for (const { item, reach } of others) {
    const from = places[places.length - 1] + 1;
    const ahead = words.slice(from, from + 1 + reach).findIndex((w) => sameWord(w.stem, item, known));
    if (ahead < 0) return null;
    places.push(from + ahead);
  }
  return places;
}

const sameWord = (word, item, known) =>
  item.includes(word) || (!known.has(word) && item.some((each) => mistyped(word, each)));

const mistyped = (word, meant) =>
  Math.min(word.length, meant.length) >= LEAST_MISTYPED && word[0] === meant[0] && nearlySame(word, meant);

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
