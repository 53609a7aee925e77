// What holds after some answers: the facts, what rules make of them, what may be asked, which orders stand.
// Nothing here weighs causes, so the session's law can ask it without a belief. A case is { kb, setup, complaint }.

const SAFE = ["safe", "made_safe"]; // answers of settings.made_safe_check that confirm a stop-work order
const NOTHING = new Set();

// Facts from the answers whose conditions hold; `stale` are the checks of those whose conditions do not.
function stageOf({ kb, setup, complaint }, given) {
  const stale = new Set();
  for (let left = given; ; left = left.filter((a) => !stale.has(a.check))) {
    const known = gather(kb, setup, complaint, left);
    const after = consequences(kb, known.values);
    const values = new Map([...oneEach(after.facts), ...known.values]);
    const lapsed = left.filter((a) => !holds(kb.checks.get(a.check).only_if, values));
    if (!lapsed.length) {
      return { known, after, values, given, stale, counted: left, done: new Set(given.map((a) => a.check)) };
    }
    for (const answer of lapsed) stale.add(answer.check);
  }
}

// One value per fact name; the last in sorted order, as on the Python side.
function oneEach(facts) {
  return [...facts].map(([name, words]) => [name, [...words].sort().pop()]);
}

// Stop-work orders still to be confirmed: 'made safe' covers only what was known when it was said.
function unconfirmed(here, { after, counted }) {
  if (!after.stopWork.length) return [];
  const said = counted.findIndex((a) => a.check === here.kb.settings.made_safe_check && SAFE.includes(a.value));
  if (said < 0) return after.stopWork;
  const then = stageOf(here, counted.slice(0, said + 1)).after;
  return after.stopWork.filter((order) => !then.stopWork.includes(order));
}

// Every stop-work order that stands, confirmed or not: nothing may run the gate. A repair makes answers obsolete, but
// lifts their order only where it was proved good.
function standing(here, stage, attempts) {
  const failed = attempts.slice(attempts.findLastIndex((t) => t.surelyMended) + 1).reverse();
  const before = failed.flatMap((t) => stageOf(here, [...t.carried, ...t.answers]).after.stopWork);
  return unique([...stage.after.stopWork, ...before]);
}

// The first of the opening checks that is still to be asked, or ''.
function openingCheck({ kb, setup }, { values, done }) {
  const checks = [...kb.settings.opening, kb.settings.first_cut].map((c) => kb.checks.get(c)).filter(Boolean);
  return checks.find((c) => !done.has(c.id) && mayDo(kb, c, setup) && openNow(kb, c, values, NOTHING))?.id ?? "";
}

// The scored checks that are open to this role. `stopped`: a stop-work order stands.
function askable({ kb, setup }, { values, after, done }, stopped) {
  return [...kb.checks.values()].filter((c) => c.finding && !done.has(c.id) && !after.settled.has(c.id)
    && mayDo(kb, c, setup) && openNow(kb, c, values, after.unlocked, stopped));
}

// Whether anything can still be asked here, worth its minutes or not.
function leftToAsk(here, stage, attempts) {
  if (unconfirmed(here, stage).length || openingCheck(here, stage)) return true;
  return askable(here, stage, standing(here, stage, attempts).length > 0).length > 0;
}
