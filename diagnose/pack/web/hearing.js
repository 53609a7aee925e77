// What was heard in somebody's words, as answers that may be taken or struck out; see diagnose/session/hearing.py.

const LONGEST_QUOTE = 120;

// { lines: [{ says, reply }], dangers: [says] }: what this visit can take from the text.
function listened(kb, session, text) {
  const found = hear(kb, text);
  const letters = [...text]; // places are counted in whole characters
  const quoted = (one) => squeezed(letters.slice(one.start, one.end).join(""));
  return {
    lines: offersOf(kb, session, found.facts, quoted).map((reply) => ({ says: heardSays(kb, session, reply), reply })),
    dangers: found.dangers.map((d) => say("present.heard_danger", { words: quoted(d) })),
  };
}

function offersOf(kb, session, facts, quoted) {
  return facts.flatMap((fact) => {
    const check = hereIs(kb, fact.about);
    const before = check && answerTo(session, check);
    if (!check || (before && (!before.heard || before.value === fact.option))) return [];
    const note = quoted(fact).slice(0, LONGEST_QUOTE);
    const reply = { event: "reply", check, value: fact.option, sure: fact.sure, note, heard: true };
    return refusal(kb, session, reply) ? [] : [reply];
  });
}

// The check at this gate: itself, or that of the only device which has it; "" where there are several.
function hereIs(kb, check) {
  if (kb.checks.has(check)) return check;
  const there = [...kb.checks.keys()].filter((c) => c.split("@")[0] === check);
  return there.length === 1 ? there[0] : "";
}

function heardSays(kb, session, { check: id, value, sure, note }) {
  const [check, { role }] = [kb.checks.get(id), session.setup];
  const said = answerSays(check, { check: id, value, sure: true }, role);
  return say(sure ? "present.heard_line" : "present.heard_perhaps", { asked: askText(check, role), said, words: note });
}
