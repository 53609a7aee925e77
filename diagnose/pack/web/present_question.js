// A check as it is asked now: the question, what comes before it, how it is done.

const LAMPS = ["power", "detection", "fault"];
const LAMP = "lamp."; // facts of a profile that describe a lamp

// New or to be changed. `told`: cautions said before, by default with others.
function questionOf(kb, session, check, told = toldWithOthers(kb, session, check)) {
  const { role } = session.setup;
  const [group, answer] = [kb.access.get(check.access), answerTo(session, check.id)];
  const shut = group && !openGroups(kb, given(session)).has(group.id);
  const byPhone = role === "help_desk";
  return {
    check: check.id,
    number: numberOf(session, check.id),
    asked: askText(check, role),
    first: shut ? say("present.first", { opening: group.says, minutes: minutesSays(group.minutes) }) : "",
    cautions: beforeCheck(kb, check, told),
    stand: byPhone && check.stand ? say("present.stand", { where: check.stand }) : "",
    costs: [minutesSays(check.minutes), ...check.tools.map((t) => kb.tools.get(t))],
    options: optionsOf(check, byPhone),
    reading: check.kind === "quantity" ? readingOf(check) : null,
    now: answer ? answerSays(check, answer, role) : "",
    barred: barredNow(kb, session, check.id),
  };
}

// Cautions that came before other checks; before this one they come again whenever it is asked.
const toldWithOthers = (kb, session, check) =>
  toldBefore(kb, { carried: [], answers: given(session).filter((a) => a.check !== check.id) });

function readingOf(check) {
  const base = unitTable.bases.get(check.unit);
  const named = { wanted: wantedOf(base), example: exampleOf(base) };
  const bare = check.hard?.[0] >= 0 && base.kind.name !== "resistance";
  return { ...named, says: say("present.reading", named), keys: bare ? "decimal" : "text" };
}

// How to do the check, what good and bad look like, its cautions, this device's lamps and the source.
function helpOf(kb, session, check) {
  const cautions = beforeCheck(kb, check, []);
  return {
    says: check.help,
    good: check.good,
    bad: check.bad,
    cautions: [...cautions.special, ...cautions.general].map((c) => c.says),
    lamps: lampsOf(kb, session, check),
    source: kb.sources.get(check.source).cite,
    picture: check.picture ? kb.pictures.get(check.picture) : "",
  };
}

// What the lamps of the device that the check is about mean, where its profile says so.
function lampsOf(kb, { setup }, check) {
  const end = keyOf(check.id) && `${AT}${keyOf(check.id)}`;
  return [...factsOfProfile(kb, setup)].filter(([name]) => name.startsWith(LAMP) && keyOf(name) === keyOf(check.id))
    .map(([name, says]) => [lampSays(name.slice(LAMP.length, name.length - end.length)), String(says)]);
}

const lampSays = (name) => say("present.lamp", { name: LAMPS.includes(name) ? say(`present.lamp_${name}`) : name });
