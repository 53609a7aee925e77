// How a visit may end, what is asked for each way, and how it ended.

// Every way to end, the possible ones and the others.
function waysToEnd(kb, session) {
  const refusals = endingsOf(kb, session);
  return Object.keys(kb.law.endings).map((outcome) => ({
    outcome,
    says: say(`present.end_${outcome}`),
    refused: refusals[outcome],
    prove: provable(kb, session, outcome),
    asked: askedFor(kb, session, outcome).map((name) => ({
      name,
      says: say(["reason", "by"].includes(name) ? `present.ask_${name}_${outcome}` : `present.ask_${name}`),
      needed: neededFor(kb, outcome).includes(name),
      options: name === "to" ? receiversOf(kb) : new Map(),
    })),
  }));
}

const receiversOf = (kb) => new Map(kb.law.receivers.map((who) => [who, say(`present.to_${who}`)]));

// How the visit ended.
function endingOf(kb, { end }, open) {
  const serving = kb.law.serving.includes(end.outcome);
  return {
    outcome: end.outcome,
    says: say(`session.ended_${end.outcome}`),
    facts: endFacts(kb, end),
    tag: end.outcome === "left_out" ? say("present.out_of_service_tag", { reason: end.reason }) : "",
    still_open: serving ? [] : open.map((item) => item.says),
    serving,
    sheet: ["dispatched", "passed_on"].includes(end.outcome),
  };
}

// What was said when it ended: [label, what].
function endFacts(kb, { outcome, by, to, reason, due, meanwhile }) {
  const proves = outcome === "proof_owed" ? "proves" : "by";
  const said = { to: receiversOf(kb).get(to) ?? "", reason, due, meanwhile, [proves]: by };
  return Object.entries(said).filter(([, text]) => text).map(([name, text]) => [say(`present.end_fact_${name}`), text]);
}
