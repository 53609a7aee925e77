// A word -> its stem, by M. F. Porter, "An algorithm for suffix stripping", Program 14(3), 1980, as the snowball
// library that Python uses works it out. `p1`, `p2`: where so many vowels and consonants have passed that a suffix may go.

const LONG_WORDS = new Map(Object.entries({
  anci: "ance", enci: "ence", abli: "able", eli: "e", alli: "al", ousli: "ous", entli: "ent", aliti: "al",
  biliti: "ble", iviti: "ive", tional: "tion", ational: "ate", alism: "al", ation: "ate", ization: "ize", izer: "ize",
  ator: "ate", iveness: "ive", fulness: "ful", ousness: "ous",
}));
const SHORTER_WORDS = new Map(Object.entries({
  icate: "ic", ative: "", alize: "al", iciti: "ic", ical: "ic", ful: "", ness: "",
}));
const BARE_WORDS = new Map([
  "ic", "ance", "ence", "able", "ible", "ate", "ive", "ize", "iti", "al",
  "ism", "ion", "er", "ous", "ant", "ent", "ment", "ement", "ou",
].map((suffix) => [suffix, ""]));
const DOUBLED = /(?:bb|dd|ff|gg|mm|nn|pp|rr|tt)$/;
const SHORT_END = /[^aeiouy][aeiouy][^aeiouwxyY]$/;

const stemmed = new Map(); // a list stands in many phrases

function porterStem(word) {
  if (!stemmed.has(word)) stemmed.set(word, stemAnew(word));
  return stemmed.get(word);
}

function stemAnew(word) {
  const marked = word.replace(/^y/, "Y").replace(/([aeiouy])y/g, "$1Y"); // a Y is a consonant
  const p1 = passed(marked, /^[^aeiouy]*[aeiouy]+[^aeiouy]/);
  const p2 = passed(marked, /^(?:[^aeiouy]*[aeiouy]+[^aeiouy]){2}/);
  let stem = withoutPast(withoutPlural(marked), p1).replace(/([aeiouy].*)[yY]$/, "$1i");
  stem = stripped(stem, LONG_WORDS, p1);
  stem = stripped(stem, SHORTER_WORDS, p1);
  stem = stripped(stem, BARE_WORDS, p2, (before, suffix) => suffix !== "ion" || /[st]$/.test(before));
  return withoutLastL(withoutLastE(stem, p1, p2), p2).replace(/Y/g, "y");
}

const passed = (word, begins) => word.match(begins)?.[0].length ?? word.length;

// Only the longest suffix counts: where that one may not go, no shorter one does.
function stripped(word, suffixes, from, fits = () => true) {
  for (let at = 0; at < word.length; at += 1) {
    const suffix = word.slice(at);
    if (!suffixes.has(suffix)) continue;
    const before = word.slice(0, at);
    return at >= from && fits(before, suffix) ? before + suffixes.get(suffix) : word;
  }
  return word;
}

const withoutPlural = (word) => word.replace(/(?:(ss)es|(i)es|(ss)|s)$/, "$1$2$3");

function withoutPast(word, p1) {
  if (word.endsWith("eed")) return word.length - 3 >= p1 ? word.slice(0, -1) : word;
  const before = word.replace(/(?:ed|ing)$/, "");
  if (before === word || !/[aeiouy]/.test(before)) return word;
  if (/(?:at|bl|iz)$/.test(before)) return `${before}e`;
  if (DOUBLED.test(before)) return before.slice(0, -1);
  return before.length === p1 && SHORT_END.test(before) ? `${before}e` : before;
}

function withoutLastE(word, p1, p2) {
  if (!word.endsWith("e")) return word;
  const before = word.slice(0, -1);
  return before.length >= p2 || (before.length >= p1 && !SHORT_END.test(before)) ? before : word;
}

const withoutLastL = (word, p2) => (word.endsWith("ll") && word.length - 1 >= p2 ? word.slice(0, -1) : word);
