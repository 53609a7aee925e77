// Cautions: those of one step in one box, general ones once below it, and all of the visit to be read again.

const cautionBox = (cautions) => cautions.length > 0
  && h("section", { class: "caution", "aria-label": say("present.caution") },
    h("b", {}, say("present.caution")), cautions.map((c) => h("p", {}, c.says)));

const cautionsView = ({ special, general: anew }) => [
  cautionBox(special),
  anew.length > 0 && h("section", { class: "notice" },
    h("b", {}, say("present.general_cautions")), list(anew.map((c) => c.says))),
];

function allCautions(app, visit) {
  const cautions = cautionsOfVisit(app.kb, [...toldBefore(app.kb, visit.session), ...toldNow(app, visit)]);
  return cautions.length ? list(cautions.map((c) => c.says)) : h("p", {}, say("present.no_cautions"));
}

// What the present screen tells: before the check that is asked, or of the leading cause.
function toldNow(app, visit) {
  const { kb, changing } = app;
  const checks = changing ? [changing] : checksAsked(app, visit);
  const [[leader]] = ranked(visit.conclusion.belief);
  const shown = checks.flatMap((check) => cautionsFor(kb, kb.checks.get(check)));
  return [...visit.conclusion.after.cautions, ...(checks.length ? shown : remedyCautions(kb, kb.causes.get(leader)))];
}
