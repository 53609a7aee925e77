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

// Whether the answer of a check tells of a cause: it bears on what the check finds.
function tellsOf(kb, cause, check) {
  const { finding } = kb.checks.get(check) ?? {};
  return Boolean(finding) && kb.causes.has(cause) && bears(kb, kb.causes.get(cause), finding.id);
}

// Whether the repair of the cause can change that answer.
const touches = (kb, cause, check) => !kb.checks.get(check)?.lasts && tellsOf(kb, cause, check);

// Checks that were answered before a repair which can have changed what they find: they may be asked again.
function askableAgain(kb, attempts, carried) {
  const last = new Map(attempts.flatMap((attempt, number) => attempt.answers.map((a) => [a.check, number])));
  const changed = ({ check }) => attempts.slice(last.get(check) ?? 0).some((t) => touches(kb, t.cause, check));
  return new Set(carried.filter(changed).map((a) => a.check));
}

// Causes whose repair did not end the trouble, while nothing was looked at since that shows whether it worked.
function untested(kb, attempts, answers) {
  const since = [...attempts.slice(1).map((t) => t.answers), answers];
  const found = new Map();
  attempts.forEach(({ cause, surelyMended }, number) => {
    const seen = since.slice(number).flat().some((a) => saysSomething(a) && touches(kb, cause, a.check));
    found.set(cause, !surelyMended && !seen);
  });
  return [...found].filter(([, so]) => so).map(([cause]) => cause);
}

// The scored checks that are open to this role. `stopped`: a stop-work order stands; `again`: those answered already
// that may be asked once more.
function askable({ kb, setup }, { values, after, done }, stopped, again = NOTHING) {
  return [...kb.checks.values()].filter((c) => c.finding && (!done.has(c.id) || again.has(c.id)) && !after.settled.has(c.id)
    && mayDo(kb, c, setup) && openNow(kb, c, values, after.unlocked, stopped, again.has(c.id)));
}

// Whether anything can still be asked here, worth its minutes or not; `carried`: answers from before repairs.
function leftToAsk(here, stage, attempts, carried) {
  if (unconfirmed(here, stage).length || openingCheck(here, stage)) return true;
  const again = askableAgain(here.kb, attempts, carried);
  return askable(here, stage, standing(here, stage, attempts).length > 0, again).length > 0;
}
