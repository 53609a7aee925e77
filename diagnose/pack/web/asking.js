// Ahead -> the check to ask next, or to conclude, and why.

// What has to come first, else whether the last repair worked, else what pays or tells.
function nextCheck(here, stage, stopWork, ahead, belief, repairs) {
  const { settings } = here.kb;
  if (stopWork.length) return { check: settings.made_safe_check, why: "stop_work", gain: null };
  const first = openingCheck(here, stage);
  if (first) return { check: first, why: "opening", gain: null };
  const worked = whetherWorked(here.kb, ahead, repairs);
  if (worked) return askFor(here, worked, "worked", stage.values, stage.done);
  if (repairs.attempts.filter((t) => !t.surelyMended).length >= settings.most_failed) {
    return { check: "", why: "beyond", gain: null };
  }
  const leader = Math.max(0, ...ranked(belief).filter(([c]) => !repairs.tried.includes(c)).map(([, p]) => p));
  const enough = leader >= settings.conclude_at;
  const chosen = enough ? null : choose(ahead.best) ?? mostTelling(ahead.best, settings.least_bits_per_minute);
  if (chosen) return askFor(here, chosen, chosen.saves > chosen.minutes ? "pays" : "tells", stage.values, stage.done);
  return { check: "", why: enough ? "likely" : ahead.options.length ? "not_worth_it" : "nothing_left", gain: null };
}

// After a repair that did not end the trouble: what tells most of whether it worked.
function whetherWorked(kb, ahead, { attempts, tried, answered }) {
  const last = attempts[attempts.length - 1]?.cause ?? "";
  if (answered || !tried.includes(last)) return null;
  return mostTelling(ahead.of((check) => touches(kb, last, check)), kb.settings.least_bits_per_minute);
}

// The check that promises the gain, or one of context that has to come before it.
function askFor({ kb, setup }, gain, why, values, done) {
  const [first] = openNeeds(kb, kb.checks.get(gain.option.check), setup, values, done);
  return first ? { check: first, why: "needed", gain } : { check: gain.option.check, why, gain };
}

// The check with the minutes that it costs now.
function optionOf({ kb, setup }, check, opened, values, done) {
  const needs = openNeeds(kb, check, setup, values, done).map((n) => kb.checks.get(n));
  const own = sum([check, ...needs].map((c) => c.minutes + kb.settings.asking_minutes));
  const shut = check.access && !opened.has(check.access);
  const opening = shut ? kb.access.get(check.access).minutes : 0;
  return { check: check.id, finding: check.id, own, group: check.access, opening };
}

// The context checks to ask before this one that are still open to this role.
function openNeeds(kb, check, setup, values, done) {
  const needs = check.needs.map((n) => kb.checks.get(n)).filter(Boolean);
  const open = (n) => !done.has(n.id) && mayDo(kb, n, setup) && openNow(kb, n, values, NOTHING);
  return needs.filter(open).map((n) => n.id);
}

function costsOf(kb, network, opened) {
  return Float64Array.from([0, ...network.causes.map((c) => repairMinutes(kb, kb.causes.get(c), opened))]);
}

// Access groups already paid for: some check behind them was really done.
function openGroups(kb, answers) {
  const done = answers.filter(madeHere).map((a) => kb.checks.get(a.check)).filter(Boolean);
  return new Set(done.map((c) => c.access).filter(Boolean));
}

// Minutes to repair and prove one cause; the outside cause costs the specialist.
function repairMinutes(kb, cause, opened) {
  if (cause.id === kb.settings.outside_cause) return kb.settings.specialist_minutes;
  const { access, minutes } = cause.remedy;
  const opening = access && !opened.has(access) ? kb.access.get(access).minutes : 0;
  return minutes + cause.proof_minutes + opening;
}
