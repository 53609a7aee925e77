// Phrases and where they stand in a clause; see diagnose/hear/phrases.py. What a part takes is places, in order.

const DENIES_AHEAD = 3; // how many words before the phrase a denial reaches over
const MOST_APART = 7; // words between two parts of a phrase
const LEAST_MISTYPED = 5; // shorter words must be right
const COMMA_COUNTS = 2; // a comma keeps two words of a phrase as far apart as so many words
const [AWAY_BEFORE, AWAY_AFTER] = [2, 3]; // how many words from a phrase one of another place still draws it there

// The stems that each word may be meant for; `known`: words that are spelt right.
const sensesOf = (clause, known) => clause.words.map(({ stem }) => {
  if (/^[0-9]/.test(stem)) return [stem, ANY_NUMBER];
  return known.has(stem) ? [stem] : [stem, ...[...known].filter((each) => mistyped(stem, each))];
});

// The places of its words, for every place where the phrase stands, is not denied and is not of somewhere else.
function phraseMatches({ parts }, clause, meant, elsewhere) {
  if (!parts.length) return [];
  const found = parts.map((part) => standingParts(part, clause, meant));
  const whole = found.length === 1 ? found[0].map((places) => [places]) : partsTogether(found, clause.commas);
  return whole.filter((each) => !deniedMatch(each, clause) && !each.some((at) => awayMatch(at, clause, elsewhere)))
    .map((each) => each.flat().sort((a, b) => a - b));
}

const standingParts = (part, clause, meant) =>
  meant.map((_, start) => matchFrom(part, clause.commas, meant, start)).filter(Boolean);

// The first place of the first part that has every other part near: the nearest one that shares no word.
function partsTogether([firsts, ...rest], commas) {
  for (const first of firsts) {
    const each = [first];
    const near = rest.every((others) => {
      const free = others.filter((places) => !places.some((k) => each.flat().includes(k)));
      const [apart, nearest] = nearestOf(each, free, commas);
      if (apart <= MOST_APART) each.push(nearest);
      return apart <= MOST_APART;
    });
    if (near) return [each];
  }
  return [];
}

function nearestOf(taken, others, commas) {
  const apart = others.map((places) => [wordsApart(taken.flat(), places, commas), places]);
  return apart.reduce((best, one) => (one[0] < best[0] || (one[0] === best[0] && earlier(one[1], best[1])) ? one : best),
    [Infinity, []]);
}

function earlier(a, b) {
  const at = a.findIndex((k, i) => k !== b[i]);
  return at >= 0 && (b[at] === undefined || a[at] < b[at]);
}

// How many words lie between, with their commas.
function wordsApart(taken, places, commas) {
  const [first, last] = [Math.min(...taken), Math.max(...taken)];
  const [begin, end] = places[0] > last ? [last, places[0]] : [places[places.length - 1], first];
  return Math.max(0, end - begin - 1) + COMMA_COUNTS * [...commas].filter((c) => c > begin && c <= end).length;
}

function matchFrom(part, commas, meant, start) {
  if (!meets(meant[start], part[0].item)) return null;
  const places = [start];
  for (const { item, reach } of part.slice(1)) {
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

// Whether a word that denies, and is not of the phrase, stands in a part of it or reaches it from before.
function deniedMatch(parts, clause) {
  const own = new Set(parts.flat());
  return parts.some((places) => clause.words.some(({ stem }, k) => {
    const [first, last] = [places[0], places[places.length - 1]];
    if (stem !== DENIED || own.has(k) || k > last || k < first - DENIES_AHEAD) return false;
    return k >= first || denialReaches(clause, k, first);
  }));
}

// No comma between them, and no circumstance begins on the way but directly after it ('not only when').
function denialReaches({ words, commas }, denial, first) {
  let direct = true;
  for (let k = denial + 1; k <= first; k += 1) {
    direct = direct && (k === denial + 1 || words[k - 1].turns);
    if (commas.has(k) || (words[k].turns && !direct)) return false;
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
