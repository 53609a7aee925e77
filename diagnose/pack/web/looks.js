// What is looked at in one go: the next check, and others at the same place that are worth their minutes as well.
// `kb.looks`: how many at once in each role, the minutes of the longest, and from which minutes saved per minute on.

// The answer that says that all is as it should be; '' where there is none to choose.
function normalOf({ finding, options }) {
  const [well = []] = finding ? finding.states.values() : [];
  return well.find((option) => options.has(option)) ?? "";
}

// The checks that are done in one go with the next one: looks at one place, what promises most per minute first; or
// what else has to be known for a measurement, then the measurement.
function besideOf(here, stage, ahead, next) {
  const { kb, setup } = here;
  const first = kb.checks.get(next.check);
  if (next.why === "needed" && next.gain) return withNeeds(here, stage, kb.checks.get(next.gain.option.check));
  if (!["pays", "tells"].includes(next.why) || !first || !isLook(kb, first)) return [];
  const checkOf = (gain) => kb.checks.get(gain.option.check);
  const place = placeOfLook(kb, first, setup);
  const near = ahead.best.filter((g) => g.option.check !== first.id && isLook(kb, checkOf(g))
    && placeOfLook(kb, checkOf(g), setup) === place);
  const free = near.filter((g) => !openNeeds(kb, checkOf(g), setup, stage.values, stage.done).length);
  const worth = free.filter((g) =>
    lookRate(g) > kb.looks.pays || g.bits / g.option.own > kb.settings.least_bits_per_minute);
  worth.sort((a, b) => rounded9(lookRate(b)) - rounded9(lookRate(a)) || byCodeUnit(a.option.check, b.option.check));
  return worth.slice(0, kb.looks.most[setup.role] - 1).map((g) => g.option.check);
}

// What else is needed for the check that is wanted, and itself where nothing can move or be touched at it.
function withNeeds({ kb, setup }, stage, wanted) {
  const needs = openNeeds(kb, wanted, setup, stage.values, stage.done);
  return [...needs.slice(1), ...(isCareful(wanted) ? [] : [wanted.id])];
}

const lookRate = (gain) => gain.value / gain.option.own;

// Quick, by eye or from memory, and with an answer that says that all is well.
function isLook(kb, check) {
  const quick = check.minutes <= kb.looks.longest && !isCareful(check);
  return quick && check.kind === "choice" && normalOf(check) !== "";
}

// It has cautions of its own to be read before it, and is done alone.
const isCareful = (check) => Boolean(check.runs_gate || check.hazard || check.locked);

// Where one stands for it: a caller where the check says; what is only asked is asked anywhere; others at the gate
// with all its devices, or behind a cover: one for the site, or one of each device.
function placeOfLook(kb, check, { role }) {
  if (role === "help_desk" && check.stand) return JSON.stringify(["caller", check.stand]);
  if (check.lasts) return JSON.stringify(["told"]);
  const each = kb.access.get(check.access)?.each_device;
  return JSON.stringify([check.access, each ? keyOf(check.id) : ""]);
}
