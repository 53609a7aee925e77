// The chain of the sensor and of the gate: which links are good, in doubt, broken, unknown, in words on a line each.

function stripsOf(kb, session, conclusion) {
  const states = standingOf(kb.settings, conclusion, session.complaint);
  const shown = [...kb.links.values()].filter((link) => states.has(link.id));
  const of = (device) => shown.filter((link) => (link.of === "device") === device);
  return [[say("present.strip_sensor"), of(true)], [say("present.strip_gate"), of(false)]]
    .filter(([, links]) => links.length).map(([name, links]) => stripOf(name, links, states));
}

// The strips that say anything.
const knownStrips = (kb, session, conclusion) => stripsOf(kb, session, conclusion).filter((strip) => strip.known);

function stripOf(name, links, states) {
  const told = links.filter((link) => states.get(link.id) !== "unknown");
  const runs = [];
  for (const link of told) {
    const state = states.get(link.id);
    if (runs.length && runs[runs.length - 1].state === state) runs[runs.length - 1].names.push(link.short);
    else runs.push({ state, names: [link.short] });
  }
  const parts = runs.map(({ state, names }) =>
    ({ says: say("present.strip_part", { links: names.join(", "), state: say(`present.link_${state}`) }), state }));
  const rest = say(told.length ? "present.strip_rest" : "present.strip_nothing");
  if (told.length < links.length) parts.push({ says: rest, state: "unknown" });
  const says = say("present.strip", { name, links: parts.map((part) => part.says).join("; ") });
  return { name, parts, says, known: told.length > 0 };
}
