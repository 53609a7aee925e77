// Session and conclusion -> what a person is told: ranked causes with evidence, prospects; as data.

const SHOWN_CAUSES = 5;
const FIRST_SHOWN = 3; // these with LEAST_OF_FIRST; beyond them only causes with LEAST_SHOWN
const LEAST_OF_FIRST = 0.01;
const LEAST_SHOWN = 0.02;
const NOTICEABLE_DECIBANS = 1;
const LIKELY = [[0.93, "almost_certain"], [0.5, "likely"], [0.2, "less_likely"], [0, "unlikely"]];

// How likely, in a word with the number: 'likely (84 %)'.
function likelySays(probability) {
  const [, word] = LIKELY.find(([least]) => probability >= least);
  return say(`session.${word}`, { percent: percent(probability) });
}

// '84 %'; a share too small to show says so.
function percent(share) {
  return share < 0.005 ? say("session.under_one_percent") : say("session.percent", { number: fixed(share * 100, 0) });
}

function summarise(kb, session, conclusion) {
  const leaders = ranked(conclusion.belief).slice(0, SHOWN_CAUSES);
  const third = leaders.slice(0, FIRST_SHOWN).pop()[1];
  const least = Math.max(LEAST_OF_FIRST, Math.min(LEAST_SHOWN, third));
  const shown = leaders.filter(([, p], i) => i === 0 || p >= least).map(([c, p]) => rankedCause(kb, conclusion, c, p));
  const leader = shown[0].cause.id;
  const standsOut = shown[0].probability >= kb.settings.act_at;
  return {
    ranked: shown,
    order: remediesInOrder(kb, conclusion, openGroups(kb, given(session)), least),
    pairs: likelySets(conclusion.belief).filter(([set, p]) => set.length === 2 && p >= LEAST_SHOWN),
    outside: leader === kb.settings.outside_cause,
    designed: leader === kb.settings.designed_cause && standsOut,
    standsOut,
  };
}

// The remedies worth trying: those likely enough to act on first, and none where none is. What was repaired in vain
// comes again only when something was looked at that shows whether the repair worked.
function remediesInOrder(kb, { belief, tried }, opened, least) {
  const found = repairOrder(kb, belief, opened, least).filter((c) => !tried.includes(c));
  const likely = found.filter((c) => probabilityOf(belief, c) >= kb.settings.act_at);
  return likely.length ? [...likely, ...found.filter((c) => !likely.includes(c))] : [];
}

// `evidence` against its nearest rival, strongest first, in decibans (Good 1950).
function rankedCause(kb, conclusion, cause, probability) {
  const rival = (ranked(conclusion.belief).find(([c]) => c !== cause) ?? [cause])[0];
  const odds = (b) => Math.max(probabilityOf(b, cause), 1e-300) / Math.max(probabilityOf(b, rival), 1e-300);
  const levels = conclusion.path.map((b) => 10 * Math.log10(odds(b)));
  const steps = conclusion.told.map((o, i) => ({ finding: o.finding ?? "", state: o.mended ?? o.state,
    settledBy: o.settledBy ?? "", decibans: levels[i + 1] - levels[i] }));
  const evidence = [...steps].sort((a, b) => Math.abs(b.decibans) - Math.abs(a.decibans));
  return { cause: kb.causes.get(cause), probability, rival, start: levels[0], steps, evidence };
}

// For the proposed check: each possible answer, how likely it is, and what would lead after it.
function whyThisCheck(kb, conclusion) {
  const { gain } = conclusion.next;
  if (!gain) return [];
  const table = conclusion.belief.network.tables.get(gain.option.finding);
  return table.states.map((state, k) => {
    const before = conclusion.heard.get(table.id);
    const after = absorb(conclusion.belief, { finding: table.id, state }, kb.settings.slip, before);
    return { state, probability: gain.chances[k], leaders: ranked(after).slice(0, 2) };
  });
}

// Cautions of the access group the check opens and of the check, each once.
function cautionsFor(kb, check) {
  const group = kb.access.get(check.access);
  return unique([...(group ? group.cautions : []), ...check.cautions]);
}

// A finding's state in words: the option that means it, what the finding calls it, else the state's own name.
function stateSays(kb, findingId, state) {
  const finding = kb.findings.get(findingId);
  const options = kb.checks.get(finding.check)?.options;
  const values = finding.states.get(state);
  return (values.length === 1 && options?.get(values[0])) || (finding.called.get(state) ?? spaced(state));
}
