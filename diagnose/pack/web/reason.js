// The stages in order: answers -> facts -> rules -> findings -> posterior -> next check or conclusion.

const KEPT_BELIEFS = 40;
const KEPT_CHANCES = 4096;
const KEPT_READINGS = 4;

// What was worked out already; what was not asked for longest is forgotten when there is too much.
function remembered(most, compute) {
  const kept = new Map();
  return (key, ...inputs) => {
    const value = kept.has(key) ? kept.get(key) : compute(...inputs);
    kept.delete(key);
    kept.set(key, value);
    if (kept.size > most) kept.delete(kept.keys().next().value);
    return value;
  };
}

class Reasoner {
  constructor(kb) {
    this.kb = kb;
    this.network = remembered(8, (devices, known) => compileNetwork(kb, devices, known));
    this.belief = remembered(KEPT_BELIEFS, (start, steps) => this.beliefAfter(start, steps));
    this.chances = remembered(KEPT_CHANCES, (start, steps) => {
      const { network, marginals } = this.beliefOf(start, steps);
      return { network, marginals };
    });
    this.readings = remembered(KEPT_READINGS, (start, steps, seen) => this.readingsAfter(start, steps, seen));
  }

  // Every conclusion from the session, in the order the answers came.
  conclude(session) {
    const { setup, complaint, answers, insist, attempts } = session;
    const carried = lasting(session);
    const here = { kb: this.kb, setup, complaint };
    const steps = this.stepsBefore(here, attempts);
    const stage = stageOf(here, [...carried, ...answers]);
    const { known, after, values, stale } = stage;
    const seen = observe(this.kb, known, after, stage.counted);
    const observations = this.fresh(seen, answers, steps);
    const start = { site: this.siteOf(setup, stage), excluded: excludedBy(this.kb, stage), complaint };
    const told = [...steps, ...observations];
    const [first, belief] = [this.beliefOf(start, steps), this.beliefOf(start, told)];
    const path = [...Array(told.length + 1).keys()].map((n) => this.chancesOf(start, told.slice(0, n)));
    const [stopWork, stands] = [unconfirmed(here, stage), standing(here, stage, attempts)];
    const heard = heardOf(this.kb, steps);
    const again = askableAgain(this.kb, attempts, carried);
    const ahead = this.ahead(belief, heard, here, stage, stands.length > 0, again);
    const tried = untested(this.kb, attempts, answers);
    const repairs = { attempts, tried, answered: answers.length > 0 };
    let next = nextCheck(here, stage, stopWork, ahead, belief, repairs);
    const wanted = insist && !next.check && mostTelling(ahead.best);
    if (wanted) next = askFor(here, wanted, "insisted", values, new Set(stage.counted.map((a) => a.check)));
    const dropped = stage.given.filter((a) => stale.has(a.check)).map((a) => a.check);
    const readings = () => this.readingsOf(start, steps, observations);
    return { known, after, values, observations, seen, heard, tried, worked: workedOf(belief, told), told, path, first,
      belief, stopWork, stands, stale: dropped, ahead, next, get misfit() { return misfit(readings()); } };
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

  // Observations not counted before: answered anew, or not seen so in an earlier stage.
  fresh(seen, answers, steps) {
    const anew = new Set(answers.filter(saysSomething).map((a) => a.check));
    const counted = new Map(steps.filter((s) => s.finding).map((s) => [s.finding, s.state]));
    return seen.filter((o) => counted.get(o.finding) !== o.state || anew.has(this.kb.findings.get(o.finding).check));
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

  // What is left of a belief that takes no memory.
  chancesOf(start, steps) {
    return this.chances(JSON.stringify([start, steps]), start, steps);
  }

  // What was seen since the last repair, read both ways.
  readingsOf(start, steps, seen) {
    return this.readings(JSON.stringify([start, steps, seen]), start, steps, seen);
  }

  readingsAfter(start, steps, seen) {
    if (!seen.length) return unread(this.beliefOf(start, steps));
    const last = seen[seen.length - 1];
    const before = this.readingsOf(start, steps, seen.slice(0, -1));
    const slips = [slipOf(this.kb.settings, last), this.kb.settings.careless_slip];
    return readOn(before, last, slips, heardOf(this.kb, steps).get(last.finding));
  }

  beliefAfter(start, steps) {
    if (!steps.length) {
      return prior(this.networkOf(start.site), start.complaint, start.excluded);
    }
    const before = this.beliefOf(start, steps.slice(0, -1));
    const last = steps[steps.length - 1];
    if (!last.mended) {
      return absorb(before, last, slipOf(this.kb.settings, last), heardOf(this.kb, steps.slice(0, -1)).get(last.finding));
    }
    try {
      return stillFailing(before, last.mended, last.botched);
    } catch (error) {
      if (!(error instanceof ImpossibleEvidence)) throw error;
      // Two faults were mended and proved good, and there is a third.
      const mended = steps.filter((s) => s.mended).map((s) => [s.mended, 0]);
      return prior(this.networkOf(start.site), start.complaint, [...start.excluded, ...mended]);
    }
  }

  ahead(belief, heard, here, stage, stopped, again) {
    const done = new Set([...stage.done, ...stage.after.settled.keys()]);
    const opened = openGroups(this.kb, stage.given);
    const options = askable(here, stage, stopped, again).map((c) => optionOf(here, c, opened, stage.values, done));
    const { specialist_minutes: specialist, slip } = this.kb.settings;
    return lookAhead(belief, heard, options, costsOf(this.kb, belief.network, opened), specialist, slip);
  }
}

// The chance that this observation is wrong.
function slipOf(settings, seen) {
  const sure = seen.fromCaller ? settings.caller_slip : settings.slip;
  return seen.sure ? sure : settings.unsure_slip;
}

// Finding -> what was heard of it, and after how many repairs.
function heardOf(kb, steps) {
  const found = new Map();
  let repairs = 0;
  for (const step of steps) {
    if (step.mended) repairs += 1;
    else found.set(step.finding, [...(found.get(step.finding) ?? []), { repairs, state: step.state, slip: slipOf(kb.settings, step) }]);
  }
  return found;
}
