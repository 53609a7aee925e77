// What whoever is sent needs when a call could not solve it: causes, what to bring, first checks, access, safety.

const SECOND_TRIP_MINUTES = 90; // what coming back for a forgotten part costs; judgement
const CARRY_MINUTES = 3; // what picking and carrying one more thing costs; judgement
const LEAST_LIKELY = 0.02;
const LIKELY_ENOUGH = 0.1; // for an electrician to be sent
const FIRST_CHECKS = 3;

// The causes that whoever is sent comes prepared for.
const likelyCauses = (conclusion) => ranked(conclusion.belief).filter(([, p]) => p >= LEAST_LIKELY);

// Whether a likely cause is for a licensed electrician to mend.
const needsElectrician = (kb, causes) =>
  causes.some(([c, p]) => kb.causes.get(c).remedy.who === "electrician" && p >= LIKELY_ENOUGH);

function dispatchSheet(reasoner, session, conclusion) {
  const { kb } = reasoner;
  const causes = likelyCauses(conclusion);
  const checks = firstChecks(reasoner, session).map((c) => kb.checks.get(c));
  const top = causes.slice(0, 3).map(([c]) => kb.causes.get(c).remedy.access);
  return {
    causes: causes.slice(0, 5),
    bring: whatToBring(kb, causes, checks),
    firstChecks: checks.map((c) => c.id),
    access: unique([...checks.map((c) => c.access), ...top].filter(Boolean)),
    electrician: needsElectrician(kb, causes),
    cautions: unique(checks.flatMap((c) => cautionsFor(kb, c))),
    stopWork: conclusion.stands,
  };
}

// The three checks that save most per minute for an equipped technician who starts from this call.
function firstChecks(reasoner, session) {
  const setup = { ...session.setup, role: "technician", electrician: true, tools: null };
  const { ahead } = reasoner.conclude({ ...session, setup, insist: true });
  const rate = (g) => g.value / g.minutes;
  const rated = [...ahead.best].sort((a, b) => rate(b) - rate(a) || byCodeUnit(a.option.check, b.option.check));
  return rated.slice(0, FIRST_CHECKS).map((g) => g.option.check);
}

// Parts and tools whose chance of being wanted times a second trip outweighs carrying them.
function whatToBring(kb, causes, checks) {
  const parts = new Map();
  const tools = new Map();
  const add = (table, says, p) => table.set(says, (table.get(says) ?? 0) + p);
  for (const [cause, p] of causes) {
    const { remedy } = kb.causes.get(cause);
    for (const part of remedy.parts) add(parts, part, p);
    for (const tool of remedy.tools) add(tools, kb.tools.get(tool), p);
  }
  for (const tool of checks.flatMap((c) => c.tools).map((t) => kb.tools.get(t))) {
    tools.set(tool, Math.max(tools.get(tool) ?? 0, 0.9));
  }
  const listed = (table, part) => [...table].map(([says, p]) => ({ says, wanted: p, part }));
  const all = [...listed(parts, true), ...listed(tools, false)];
  const kept = all.filter((b) => b.wanted * SECOND_TRIP_MINUTES > CARRY_MINUTES);
  const capped = kept.map((b) => ({ ...b, wanted: Math.min(b.wanted, 1) }));
  return capped.sort((a, b) => b.wanted - a.wanted || byCodeUnit(a.says, b.says));
}
