// A conclusion that fits one screen, and what unfolds from it: each cause with its evidence and its remedy.

const MOST_WEIGHTS = 4; // for and against a cause each
const MOST_STEPS = 4;
const MOST_PAIRS = 2;

// What the visit has come to; `told` are the cautions that were said before.
function resultOf(kb, session, conclusion, told = []) {
  const summary = summarise(kb, session, conclusion);
  const unfinished = Boolean(conclusion.next.check) && !session.concluded;
  const caller = forCaller(kb, session, conclusion, summary);
  return {
    title: say(unfinished ? "present.so_far" : "present.conclusion"),
    why: whyConcluded(conclusion, unfinished),
    notes: [...notesOf(session, summary), ...(caller?.own.length ? [] : handingOver(kb, session, conclusion, summary))],
    caller,
    suspects: summary.ranked.map((r, i) => suspectOf(kb, i + 1, r, told, conclusion.tried.includes(r.cause.id))),
    strips: knownStrips(kb, session, conclusion),
    together: summary.pairs.slice(0, MOST_PAIRS).map(([causes, p]) => togetherSays(kb, causes, p)),
    order: orderOf(kb, summary),
    statement: say("present.no_conformity"),
  };
}

function whyConcluded({ next }, unfinished) {
  if (!next.check) return say(`session.why_${next.why}`);
  return say(unfinished ? "present.not_concluded" : "present.you_concluded");
}

function notesOf(session, summary) {
  const found = {
    nothing_fits: summary.outside,
    designed: summary.designed,
    nothing_stands_out: !summary.standsOut,
    not_for_caller: session.setup.role === "help_desk",
  };
  return Object.keys(found).filter((name) => found[name]).map((name) => say(`present.${name}`));
}

// What is said when the tool knows no further: what was repaired in vain, and whom to give it to.
function handingOver(kb, session, { next, worked }, summary) {
  const further = next.check || summary.order.length || summary.outside || summary.designed;
  if (further && next.why !== "beyond") return [];
  const failed = unique(session.repairs.filter((r) => r.proof === "failed").map((r) => r.cause));
  const tried = { worked_but: (cause) => worked.includes(cause), tried_in_vain: (cause) => !worked.includes(cause) };
  const says = Object.entries(tried).map(([key, fits]) => [key, failed.filter(fits).map((cause) => kb.causes.get(cause).says)])
    .filter(([, causes]) => causes.length).map(([key, causes]) => say(`present.${key}`, { causes: causes.join("; ") }));
  return [...says, say("present.hand_over")];
}

function togetherSays(kb, causes, probability) {
  const both = causes.map((c) => kb.causes.get(c).says).join(` ${say("present.and")} `);
  return say("present.together", { causes: both, percent: percent(probability) });
}

function orderOf(kb, { order }) {
  if (order.length < 2) return [];
  const steps = order.slice(0, MOST_STEPS).map((id) => kb.causes.get(id)).map((cause) => {
    const minutes = minutesSays(cause.remedy.minutes + cause.proof_minutes);
    return say("present.order_step", { cause: cause.says, minutes });
  });
  return [...steps, say("present.call_specialist")];
}

// One cause with everything that unfolds from it.
function suspectOf(kb, number, rankedOne, told, tried) {
  const { cause, probability, rival } = rankedOne;
  const outside = cause.id === kb.settings.outside_cause;
  return {
    cause: cause.id,
    number,
    says: cause.says,
    likely: likelySays(probability),
    probability,
    explain: cause.explain,
    test: cause.test,
    test_cautions: beforeTest(kb, cause, told),
    plan: outside ? say("present.plan_outside") : tried ? say("present.plan_tried") : planSays(cause),
    remedy: outside ? null : remedyOf(kb, cause, told),
    speaks_for: evidenceSays(kb, rankedOne, 1),
    speaks_against: evidenceSays(kb, rankedOne, -1),
    rival: say("present.weighed_against", { rival: kb.causes.get(rival).says }),
    source: kb.sources.get(cause.source).cite,
  };
}

const planSays = ({ remedy, proof_minutes: prove }) => say("present.plan",
  { mend: minutesSays(remedy.minutes), prove: minutesSays(prove), who: say(`session.who_${remedy.who}`) });

// The remedy for a cause, with the cautions before it.
function remedyOf(kb, cause, told) {
  const { remedy } = cause;
  const access = kb.access.get(remedy.access);
  const who = say(`session.who_${remedy.who}`);
  const facts = say("present.remedy_facts", { minutes: minutesSays(remedy.minutes), who });
  return {
    facts: access ? say("present.after_opening", { facts, opening: access.says }) : facts,
    warning: remedy.hides_fault ? say("present.hides_fault") : "",
    steps: remedy.steps,
    parts: remedy.parts,
    tools: remedy.tools.map((t) => kb.tools.get(t)),
    proof: say("present.proof_takes", { proof: cause.proof, minutes: minutesSays(cause.proof_minutes) }),
    afterwards: remedy.touches.map((t) => kb.proofs.get(t).says),
    cautions: beforeRemedy(kb, cause, told),
  };
}

// The strongest for (1) or against (-1), as many as are worth a line.
function evidenceSays(kb, { evidence }, sign) {
  const noticed = evidence.filter((w) => w.decibans * sign >= NOTICEABLE_DECIBANS).slice(0, MOST_WEIGHTS);
  return noticed.map((w) =>
    say("present.weighs", { says: seenSays(kb, w.finding, w.state), weight: weightSays(w.decibans) }));
}
