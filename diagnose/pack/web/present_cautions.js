// Which cautions belong to one step, and which are general (kb.general): said once a visit, and shown again on demand.

const cautionOf = (kb, id) => ({ id, says: kb.cautions.get(id).says });
const beforeCheck = (kb, check, told) => sortedCautions(kb, cautionsFor(kb, check), told);
const beforeTest = (kb, cause, told) => sortedCautions(kb, cause.cautions, told);
const beforeRemedy = (kb, cause, told) => sortedCautions(kb, remedyCautions(kb, cause), told);

// Of what has to be opened, of the cause, and of the remedy itself.
function remedyCautions(kb, { cautions, remedy }) {
  return unique([...(kb.access.get(remedy.access)?.cautions ?? []), ...cautions, ...remedy.cautions]);
}

// Cautions that rules raised on the answers of this very visit: each is special.
const raisedCautions = (kb, names) => names.map((name) => cautionOf(kb, name));

// Those that rules raised on the last answer, for a screen that keeps nothing of the one before it.
function raisedLast(reasoner, session, { after }) {
  if (!after.cautions.length || !session.answers.length) return raisedCautions(reasoner.kb, after.cautions);
  const before = reasoner.conclude({ ...session, answers: session.answers.slice(0, -1) }).after.cautions;
  return raisedCautions(reasoner.kb, after.cautions.filter((name) => !before.includes(name)));
}

// Every caution that was told on the visit, to be read again. Stop-work orders stand by themselves.
const cautionsOfVisit = (kb, told) =>
  unique(told).filter((name) => !kb.cautions.get(name).stop_work).map((name) => cautionOf(kb, name));

// Cautions that came before checks already answered, in that order.
function toldBefore(kb, session) {
  const done = given(session).filter((a) => !a.heard).map((a) => kb.checks.get(a.check)).filter(Boolean);
  return unique(done.flatMap((check) => cautionsFor(kb, check)));
}

const idsOf = ({ special, general: anew, told }) => [...special, ...anew, ...told].map((c) => c.id);

function sortedCautions(kb, names, told) {
  const named = names.map((name) => cautionOf(kb, name));
  const common = named.filter((c) => kb.general.has(c.id));
  return {
    special: named.filter((c) => !kb.general.has(c.id)),
    general: common.filter((c) => !told.includes(c.id)),
    told: common.filter((c) => told.includes(c.id)),
  };
}
