// Session and conclusion -> one JSON-ready object: the documented shape of `--json` (schema 1) of the command line.

function asPlain(kb, session, conclusion) {
  const { next, belief, after } = conclusion;
  const summary = summarise(kb, session, conclusion);
  return {
    schema: 1,
    knowledge: kb.digest,
    role: session.setup.role,
    devices: session.setup.devices,
    complaint: session.complaint,
    words: session.words,
    answers: given(session).map(plainAnswer),
    not_counted: conclusion.stale,
    observations: conclusion.observations.map((o) => ({ finding: o.finding, state: o.state, settled_by: o.settledBy })),
    rules: after.firings.map((f) => f.rule),
    contradictions: after.contradictions,
    misfit: conclusion.misfit,
    unfitting: unfitting(kb, conclusion).map((d) => d.check),
    stop_work: conclusion.stopWork,
    posterior: Object.fromEntries(ranked(belief)),
    sets: likelySets(belief).map(([causes, probability]) => ({ causes, probability })),
    log_evidence: belief.logEvidence,
    next: { check: next.check, why: next.why, ...gainFigures(next.gain) },
    cautions: next.check ? cautionsFor(kb, kb.checks.get(next.check)) : after.cautions,
    concluded: session.concluded || !next.check,
    repair_order: summary.order,
    repairs_that_worked: conclusion.worked,
    outside_the_list: summary.outside,
  };
}

const plainAnswer = ({ check, value, sure, by, note }) =>
  ({ check, value, sure, by, ...(value === SOMETHING_ELSE ? { words: note } : {}) });

const gainFigures = (gain) =>
  ({ minutes: gain?.minutes ?? null, saves: gain?.saves ?? null, bits: gain?.bits ?? null });
