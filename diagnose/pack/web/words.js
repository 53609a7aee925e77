// What is said to people, by key: the page carries the sentences of its language. `n`, a whole number, chooses a plural.

let WORDS = { texts: {}, plural: [] };

const speak = (words) => { WORDS = words; };

function say(key, named = {}) {
  const forms = WORDS.texts[key];
  const text = forms.length > 1 ? forms[WORDS.plural[listed(Number(named.n))]] : forms[0];
  return text.replace(/\{(\w+)\}/g, (_, name) => named[name]);
}

// Plural rules look at the last two digits of a number beyond those that the page lists.
const listed = (n) => (n < WORDS.plural.length ? n : WORDS.plural.length - 100 + (n % 100));
