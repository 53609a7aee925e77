// How phrases are written in the knowledge, as diagnose/hear/phrase_text.py says.

const WORD_GAPS = { "...": 5, "..": 3 }; // how many words may stand between
const MOST_BETWEEN = 1;
const ANY_NUMBER = "#"; // stands for every number in digits

// { parts: [[{ item, reach }]], then }: the parts stand in any order; `then`: what must stand there or follow soon.
const phrasesOf = (speech, text, lists) => spreadWays(speech, text).map((written) => phraseOf(speech, written, lists));

function phraseOf(speech, text, lists) {
  const at = text.indexOf(">>");
  const [first, rest] = at < 0 ? [text, ""] : [text.slice(0, at), text.slice(at + 2)];
  const known = new Map([...speech.lists, ...lists]);
  const parts = first.split("&").map((written) => partOf(speech, written, known)).filter((part) => part.length);
  return { parts, then: rest ? phraseOf(speech, rest, lists) : null };
}

const phraseItems = ({ parts, then }) => [...parts.flat().map(({ item }) => item), ...(then ? phraseItems(then) : [])];

// Once for each turn of phrase.
function spreadWays(speech, text) {
  const named = splitWords(text).find((word) => word.startsWith("@"));
  if (!named) return [text];
  return speech.ways.get(named.slice(1)).flatMap((way) => spreadWays(speech, text.replace(named, () => way)));
}

// [{ item, reach }]: a word with its alternatives, and how many words may stand before it.
function partOf(speech, text, lists) {
  const part = [];
  let reach = MOST_BETWEEN;
  for (const word of splitWords(text)) {
    const gap = WORD_GAPS[word];
    const item = new Set(gap ? [] : alternativesOf(word, lists).flatMap((each) => writtenStems(speech, each)));
    if (gap) reach = gap;
    else if (item.size) {
      part.push({ item, reach });
      reach = MOST_BETWEEN;
    }
  }
  return part;
}

const writtenStems = (speech, word) => (word === ANY_NUMBER ? [ANY_NUMBER] : stemsOf(speech, word));

const alternativesOf = (word, lists) => word.split("|").flatMap((each) =>
  each.startsWith("$") ? lists.get(each.slice(1)).flatMap((inner) => alternativesOf(inner, lists)) : [each]);
