// The devices of the gate that this page is packed for: kb.gear, each with its key. Every visit here is about them, so
// that nothing has to be grounded on the page; without any, only visits of less than two devices fit.

const AT = "@"; // between an entry and the device it is for
const plainEntry = (entry) => entry.split(AT)[0];
const keyOf = (entry) => entry.slice(plainEntry(entry).length + 1);

// The set-up in which the devices, where there are any, are all the sensors.
function geared(setup, gear = setup.gear) {
  return gear.length ? { ...setup, gear, devices: unique(gear.map((d) => d.kind)) } : setup;
}

// Every fact of the profiles; with several devices each has its own, and the site's facts hold for every one.
function factsOfProfile(kb, { profile, gear }) {
  if (gear.length < 2) return new Map([...profile, ...gear.flatMap((d) => Object.entries(d.facts ?? {}))]);
  const site = [...profile].filter(([name]) => !name.startsWith("device."));
  const of = (facts, key) => [...new Map([...site, ...Object.entries(facts)])].map(([f, v]) => [`${f}${AT}${key}`, v]);
  return new Map([...site, ["gear", "several"], ...gear.flatMap((d, i) => of(d.facts ?? {}, kb.gear[i].key))]);
}

const sameGear = (one, two) => one.length === two.length
  && one.every((d, i) => d.name === two[i].name && d.kind === two[i].kind && `${d.jobs}` === `${two[i].jobs}`);

// Throws VisitError where a visit is, or was at any time, about other devices than the page. Changes nothing.
function requireGear(kb, events) {
  let now = [];
  for (const { event, setup, gear = setup?.gear ?? [] } of events) {
    const fits = event === "begin" ? sameGear(gear, kb.gear) || (!kb.gear.length && gear.length < 2)
      : event === "named" ? sameGear(gear, now) : !gear.length || sameGear(gear, now);
    if (!fits) throw new VisitError(say("page.other_gear", { here: gearNames(kb.gear), there: gearNames(gear) }));
    if (event === "begin") now = gear;
  }
}

const gearNames = (gear) => gear.map((d) => d.name).join(", ") || say("page.no_names");

// The set-up with the facts of a device's profile: of the named devices of its kind, else of the gate.
function withPapers(setup, sensor, facts) {
  if (!setup.gear?.some((d) => d.kind === sensor)) return { ...setup, profile: { ...setup.profile, ...facts } };
  const own_ = (name) => name.startsWith("device.") || name.startsWith(LAMP);
  const [mine, rest] = [true, false].map((wanted) =>
    Object.fromEntries(Object.entries(facts).filter(([name]) => own_(name) === wanted)));
  const gear = setup.gear.map((d) => (d.kind === sensor ? { ...d, facts: { ...mine, ...d.facts } } : d));
  return { ...setup, gear, profile: { ...setup.profile, ...rest } };
}
