// Why this check, what is likely and how that came about, and everything answered so far.

function explanations(app, visit) {
  const { session, conclusion } = visit;
  return [
    fold("why", say(conclusion.next.check ? "present.why_check" : "present.why_stop"),
      () => whyView(whyOf(app.kb, conclusion))),
    fold("likely", say("present.likely_so_far"), () => likelyView(app.kb, visit)),
    fold("answers", say("page.answers_so_far", { count: given(session).length }), () => answersView(app, visit)),
    fold("cautions", say("present.all_cautions"), () => allCautions(app, visit)),
  ];
}

// How the signal chain stands; the words carry it, the border only repeats it.
const stripsView = (strips) => strips.length > 0 && h("section", { "aria-label": say("present.strips") },
  strips.map(({ name, parts }) => h("p", { class: "strip" }, h("b", {}, `${name}:`),
    parts.map(({ says, state }) => [" ", h("span", { class: `link-${state}` }, says)]))));

const whyView = (why) => [h("p", {}, why.says), why.gain && h("p", {}, why.gain), list(why.prospects)];

const likelyView = (kb, { session, conclusion }) => [
  h("ol", { class: "likely" }, likelyOf(kb, conclusion).map((cause) =>
    h("li", {}, bar(cause.probability), `${cause.says}: ${cause.words}`))),
  workingsView(workingsOf(kb, session, conclusion)),
];

function workingsView({ against, weights, total, computed, rules }) {
  return [
    h("h3", {}, say("present.how_it_led")),
    h("p", {}, against),
    list([...weights, total].map(({ weight, says }) => `${weight} ${says}`)),
    h("h3", {}, say("present.calculations_and_rules")),
    !computed.length && !rules.length && h("p", {}, say("present.none_so_far")),
    computedView(computed),
    list(rules),
  ];
}

const computedView = (computed) => computed.map((says) => pair(say("present.computed"), says));

function answersView(app, { session, conclusion }) {
  const { complaint, given: rows, computed } = answersOfVisit(app.kb, session, conclusion);
  return [
    pair(say("present.complaint"), complaint),
    session.words && pair(say("present.own_words"), session.words),
    !session.end.outcome && complaintChange(app, session),
    rows.length ? list(rows.map((row) => answerRow(app, session, row)), "ol") : h("p", {}, say("present.no_answers")),
    computedView(computed),
  ];
}

function answerRow(app, { end: { outcome: ended } }, { check, asked, said, origin, counted }) {
  const marks = [origin && ` [${origin}]`, !counted && ` (${say("present.not_counted")})`].filter(Boolean).join("");
  return [`${say("present.answered", { asked, said })}${marks} `,
    !ended && button(say("page.change"), () => app.change(check), { "aria-label": `${say("page.change")}: ${asked}` })];
}

function complaintChange(app, session) {
  const options = byCommonness(app.kb).map((c) => [c, app.kb.complaints.get(c).says]);
  const { input, row } = select(say("page.change_complaint"), options, session.complaint);
  return form(() => app.send({ event: "complain", complaint: input.value }), row,
    h("button", { type: "submit" }, say("page.change")));
}
