// The stages in order: answers -> facts -> rules -> findings -> posterior -> next check or conclusion.

const KEPT_BELIEFS = 40;

// What was worked out already, forgotten from the oldest when there is too much.
function remembered(most, compute) {
  const kept = new Map();
  return (key, ...inputs) => {
    if (!kept.has(key)) {
      kept.set(key, compute(...inputs));
      if (kept.size > most) kept.delete(kept.keys().next().value);
    }
    return kept.get(key);
  };
}

class Reasoner {
  constructor(kb) {
    this.kb = kb;
    this.network = remembered(8, (devices, known) => compileNetwork(kb, devices, known));
    this.belief = remembered(KEPT_BELIEFS, (start, steps) => this.beliefAfter(start, steps));
  }

  // Every conclusion from the session, in the order the answers came.
  conclude({ setup, complaint, answers, insist, attempts, carried }) {
    const here = { kb: this.kb, setup, complaint };
    const steps = this.stepsBefore(here, attempts);
    const stage = stageOf(here, [...carried, ...answers]);
    const { known, after, values, stale } = stage;
    const seen = observe(this.kb, known, after, stage.counted);
    const observations = this.fresh(seen, answers, steps);
    const start = { site: this.siteOf(setup, stage), excluded: excludedBy(this.kb, stage), complaint };
    const beliefs = [...Array(observations.length + 1).keys()].map((n) =>
      this.beliefOf(start, [...steps, ...observations.slice(0, n)]));
    const belief = beliefs[beliefs.length - 1];
    const [stopWork, stands] = [unconfirmed(here, stage), standing(here, stage, attempts)];
    const ahead = this.ahead(belief, here, stage, stands.length > 0);
    let next = this.next(here, stage, stopWork, ahead, belief);
    const wanted = insist && !next.check && mostTelling(ahead.best);
    if (wanted) next = this.ask(wanted, "insisted", setup, values, new Set(stage.counted.map((a) => a.check)));
    const dropped = stage.given.filter((a) => stale.has(a.check)).map((a) => a.check);
    return { known, after, values, observations, seen, beliefs, belief, stopWork, stands, stale: dropped, ahead, next };
  }

  // What the attempts before left behind for the belief, in order.
  stepsBefore(here, attempts) {
    const steps = [];
    for (const attempt of attempts) {
      const { known, after, counted } = stageOf(here, [...attempt.carried, ...attempt.answers]);
      steps.push(...this.fresh(observe(this.kb, known, after, counted), attempt.answers, [...steps]));
      const botched = attempt.surelyMended ? 0 : this.kb.settings.botched_repair;
      if (applicable(this.kb.causes.get(attempt.cause), here.setup.devices)) steps.push({ mended: attempt.cause, botched });
    }
    return steps;
  }

  // Observations not counted before: answered anew, or never seen in an earlier stage.
  fresh(seen, answers, steps) {
    const anew = new Set(answers.map((a) => a.check));
    const counted = new Set(steps.map((s) => s.finding).filter(Boolean));
    return seen.filter((o) => !counted.has(o.finding) || anew.has(this.kb.findings.get(o.finding).check));
  }

  // What the network depends on: the sensors, and the facts that decide what some effect brings.
  siteOf(setup, stage) {
    const { values } = stage.known;
    const facts = [...this.kb.effects.values()].map((e) => e.calculated?.fact).filter((f) => f && values.has(f));
    return [setup.devices, Object.fromEntries([...new Set(facts)].sort().map((f) => [f, values.get(f)]))];
  }

  networkOf(site) {
    return this.network(JSON.stringify(site), ...site);
  }

  beliefOf(start, steps) {
    return this.belief(JSON.stringify([start, steps]), start, steps);
  }

  beliefAfter(start, steps) {
    if (!steps.length) {
      return prior(this.networkOf(start.site), start.complaint, start.excluded);
    }
    const before = this.beliefOf(start, steps.slice(0, -1));
    const last = steps[steps.length - 1];
    if (last.mended) return stillFailing(before, last.mended, last.botched);
    return absorb(before, last, slipOf(this.kb.settings, last));
  }

  ahead(belief, here, stage, stopped) {
    const done = new Set([...stage.done, ...stage.after.settled.keys()]);
    const opened = openGroups(this.kb, stage.given);
    const options = askable(here, stage, stopped).map((c) => this.option(c, opened, here.setup, stage.values, done));
    const { specialist_minutes: specialist, slip } = this.kb.settings;
    return lookAhead(belief, options, this.repairCosts(belief.network, opened), specialist, slip);
  }

  option(check, opened, setup, values, done) {
    const needs = this.openNeeds(check, setup, values, done).map((n) => this.kb.checks.get(n));
    const own = sum([check, ...needs].map((c) => c.minutes + this.kb.settings.asking_minutes));
    const shut = check.access && !opened.has(check.access);
    const opening = shut ? this.kb.access.get(check.access).minutes : 0;
    return { check: check.id, finding: check.id, own, group: check.access, opening };
  }

  // The context checks to ask before this one that are still open to this role.
  openNeeds(check, setup, values, done) {
    const needs = check.needs.map((n) => this.kb.checks.get(n)).filter(Boolean);
    const open = (n) => !done.has(n.id) && mayDo(this.kb, n, setup) && openNow(this.kb, n, values, NOTHING);
    return needs.filter(open).map((n) => n.id);
  }

  repairCosts(network, opened) {
    return Float64Array.from([0, ...network.causes.map((c) => repairMinutes(this.kb, this.kb.causes.get(c), opened))]);
  }

  next(here, stage, stopWork, ahead, belief) {
    if (stopWork.length) return { check: this.kb.settings.made_safe_check, why: "stop_work", gain: null };
    const first = openingCheck(here, stage);
    if (first) return { check: first, why: "opening", gain: null };
    const leader = ranked(belief)[0][1];
    const chosen = this.chosen(ahead, leader);
    if (!chosen) return { check: "", why: this.stopReason(leader, ahead), gain: null };
    const why = chosen.saves > chosen.minutes ? "pays" : "tells";
    return this.ask(chosen, why, here.setup, stage.values, stage.done);
  }

  // The check that pays; while the leader is not likely enough, else the one that tells most.
  chosen({ best }, leader) {
    const { conclude_at: enough, least_bits_per_minute: least } = this.kb.settings;
    return leader >= enough ? null : choose(best) ?? mostTelling(best, least);
  }

  ask(gain, why, setup, values, done) {
    const [first] = this.openNeeds(this.kb.checks.get(gain.option.check), setup, values, done);
    return first ? { check: first, why: "needed", gain } : { check: gain.option.check, why, gain };
  }

  stopReason(leader, { options }) {
    if (leader >= this.kb.settings.conclude_at) return "likely";
    return options.length ? "not_worth_it" : "nothing_left";
  }
}

// The chance that this observation is wrong.
function slipOf(settings, seen) {
  const sure = seen.fromCaller ? settings.caller_slip : settings.slip;
  return seen.sure ? sure : settings.unsure_slip;
}

// Access groups already paid for: some check behind them was really done.
function openGroups(kb, answers) {
  const done = answers.filter(saysSomething).map((a) => kb.checks.get(a.check)).filter(Boolean);
  return new Set(done.map((c) => c.access).filter(Boolean));
}

// Minutes to repair and prove one cause; the outside cause costs the specialist.
function repairMinutes(kb, cause, opened) {
  if (cause.id === kb.settings.outside_cause) return kb.settings.specialist_minutes;
  const { access, minutes } = cause.remedy;
  const opening = access && !opened.has(access) ? kb.access.get(access).minutes : 0;
  return minutes + cause.proof_minutes + opening;
}
