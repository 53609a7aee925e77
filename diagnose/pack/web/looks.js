// What is looked at in one go: the next check, and others at the same place that are worth their minutes as well.

const MOST_LOOKS = { technician: 6, help_desk: 4 }; // at once; a caller is read them out
const LONGEST_LOOK_MIN = 3; // a longer one is a step of its own
const LOOK_PAYS = 1; // minutes saved per minute

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
  if (!["pays", "tells"].includes(next.why) || !first || !isLook(first)) return [];
  const checkOf = (gain) => kb.checks.get(gain.option.check);
  const place = placeOfLook(kb, first, setup);
  const near = ahead.best.filter((g) => g.option.check !== first.id && isLook(checkOf(g))
    && placeOfLook(kb, checkOf(g), setup) === place);
  const free = near.filter((g) => !openNeeds(kb, checkOf(g), setup, stage.values, stage.done).length);
  const worth = free.filter((g) =>
    lookRate(g) > LOOK_PAYS || g.bits / g.option.own > kb.settings.least_bits_per_minute);
  worth.sort((a, b) => rounded9(lookRate(b)) - rounded9(lookRate(a)) || byCodeUnit(a.option.check, b.option.check));
  return worth.slice(0, MOST_LOOKS[setup.role] - 1).map((g) => g.option.check);
}

// What else is needed for the check that is wanted, and itself where nothing can move or be touched at it.
function withNeeds({ kb, setup }, stage, wanted) {
  const needs = openNeeds(kb, wanted, setup, stage.values, stage.done);
  return [...needs.slice(1), ...(isCareful(wanted) ? [] : [wanted.id])];
}

const lookRate = (gain) => gain.value / gain.option.own;

// Quick, by eye or from memory, and with an answer that says that all is well.
function isLook(check) {
  const quick = check.minutes <= LONGEST_LOOK_MIN && !isCareful(check);
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
