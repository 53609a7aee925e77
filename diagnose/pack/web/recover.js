// The text of a visit file -> every entry with a valid seal, wherever it stands, and what is wrong with the rest.
// As the command line's `store/recover.py`: an entry is used once, in the place of its number.

const MARK = '{"at":"'; // how every line begins; in a text its quotes would be escaped
const LINE_END = /"v":[0-9]+\}/;
const MOST_PLACES = 6;
const LONGEST_LINE = 200000;
const MOST_ENTRIES = 1000;
const MOST_OF = { repaired: [10, "store.most_repairs"], reply: [200, "store.most_answers"] };

// {events, times, damage, lines, last, broken}; throws NewerVisit, and VisitError where there is more than may be.
function readJournal(text) {
  const found = gatheredLines(text);
  const first = found.entries.has(1) ? null : openingOf([...found.entries.values()]);
  const entries = [...(first ? [first] : []), ...found.entries.values()].sort((a, b) => a.number - b.number);
  const broken = Boolean(first || found.bad.length || found.twice.length || found.other.length || found.moved.length);
  const last = entries.length ? entries[entries.length - 1].number : 0;
  requireBounded(entries.map((line) => line.event), last);
  return {
    events: entries.map((line) => line.event), times: entries.map((line) => line.at),
    damage: troublesOf(found, entries, first, broken).join("; "), lines: entries.map((line) => line.text), last, broken,
  };
}

function gatheredLines(text) {
  const found = { entries: new Map(), highest: 0, bad: [], why: "", twice: [], other: [], moved: [] };
  const lines = text.split("\n");
  const half = lines[lines.length - 1] !== "";
  if (!half) lines.pop();
  for (const [i, line] of lines.entries()) {
    try {
      takeLine(found, i + 1, readLine(line));
    } catch (error) {
      if (error instanceof NewerVisit) throw error;
      const why = error instanceof VisitError ? error.message : say("store.no_line");
      found.bad.push(i + 1);
      found.why ||= half && i + 1 === lines.length ? say("store.half_written") : why;
      for (const piece of piecesOf(line)) takeLine(found, i + 1, piece);
    }
  }
  return found;
}

// The first line of a number counts: a later one cannot put itself in its place.
function takeLine(found, place, line) {
  const before = found.entries.get(line.number);
  if (before) found[before.text === line.text ? "twice" : "other"].push(place);
  else {
    found.entries.set(line.number, line);
    if (line.number < found.highest) found.moved.push(place);
  }
  found.highest = Math.max(found.highest, line.number);
}

// Whole lines that ran together, or stand between rubbish.
function piecesOf(text) {
  const found = [];
  for (const part of text.split(MARK).slice(1)) {
    const end = LINE_END.exec(part);
    try {
      if (end) found.push(readLine(MARK + part.slice(0, end.index + end[0].length)));
    } catch (error) {
      if (error instanceof NewerVisit) throw error;
    }
  }
  return found;
}

// The first line, from one that repeats it.
function openingOf(lines) {
  const told = lines.sort((a, b) => a.number - b.number).find((line) => usableOpening(line.opening))?.opening;
  return told ? readLine(journalLine(told.begin, 1, told.since)) : null;
}

function usableOpening(told) {
  try {
    requireEvent(told?.begin);
  } catch {
    return false;
  }
  return told.begin.event === "begin" && isText(told.since);
}

function troublesOf(found, entries, restored, broken) {
  const gaps = gapsOf(entries.map((line) => line.number));
  const said = ["twice", "other", "moved"].filter((key) => found[key].length)
    .map((key) => say(`store.lines_${key}`, { n: found[key].length, lines: namedRuns(runsOf(found[key])) }));
  const missing = sum(gaps.map(([a, b]) => b - a + 1));
  return [
    found.bad.length && say("store.lines_bad", { n: found.bad.length, lines: namedRuns(runsOf(found.bad)), why: found.why }),
    ...said,
    restored && say("store.opening_restored"),
    gaps.length && say("store.entries_missing", { n: missing, numbers: namedRuns(gaps) }),
    entries.length && (broken || gaps.length) && say("store.entries_used", { n: entries.length }),
  ].filter(Boolean);
}

function gapsOf(numbers) {
  return numbers.map((n, i) => [(numbers[i - 1] ?? 0) + 1, n - 1]).filter(([a, b]) => a <= b);
}

// 1, 2, 3, 7 -> [1, 3], [7, 7]
function runsOf(places) {
  const runs = [];
  for (const place of unique(places)) {
    const run = runs[runs.length - 1];
    if (run?.[1] === place - 1) run[1] = place;
    else runs.push([place, place]);
  }
  return runs;
}

function namedRuns(runs) {
  const named = runs.slice(0, MOST_PLACES)
    .map(([first, last]) => (first === last ? `${first}` : say("store.from_to", { first, last })));
  return [...named, ...(runs.length > MOST_PLACES ? ["..."] : [])].join(", ");
}

// Throws VisitError where there are more events than one visit may hold; `last` is the highest number of one.
function requireBounded(events, last) {
  if (last > MOST_ENTRIES) throw new VisitError(say("store.most_entries", { most: MOST_ENTRIES.toLocaleString("en") }));
  for (const [kind, [most, key]] of Object.entries(MOST_OF)) {
    if (events.filter((e) => e.event === kind).length > most) throw new VisitError(say(key, { most }));
  }
}
