// The chain of each device and of the gate on a line each: which links are good, in doubt, broken, unknown.

function stripsOf(kb, session, conclusion) {
  const states = standingOf(kb.settings, conclusion, session.complaint);
  const shown = [...kb.links.values()].filter((link) => states.has(link.id));
  const of = (key) => shown.filter((link) => link.of === "device" && (kb.gear.length < 2 || keyOf(link.id) === key));
  const only = [[session.setup.gear[0]?.name ?? say("present.strip_sensor"), of("")]];
  const each = kb.gear.length < 2 ? only : kb.gear.map(({ name, key }) => [name, of(key)]);
  const gate = [say("present.strip_gate"), shown.filter((link) => link.of !== "device")];
  return [...each, gate].filter(([, links]) => links.length).map(([name, links]) => stripOf(name, links, states));
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
