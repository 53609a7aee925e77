// Stop-work and other notices, and the conclusion: on one screen what it is and what to do now; the rest unfolds.

// Every stop-work order that rules raised, before everything else.
function stopWorkView(kb, { conclusion, session }) {
  const ended = session.end.outcome === "in_service";
  return ordersOf(kb, conclusion).map(({ says, short, tell, tag, confirmed }) => {
    if (confirmed && ended) return h("p", { class: "stop closed" }, say("present.was_given", { short }));
    if (confirmed) return h("p", { class: "stop standing" }, h("b", {}, say("present.still_stands", { short })));
    return h("section", { class: "stop", role: "alert", "aria-label": say("present.stop_work") },
      h("p", { class: "loud" }, says), pair(say("present.tell"), tell), pair(say("present.tag"), tag),
      h("p", {}, h("b", {}, say("present.not_confirmed"))));
  });
}

// What rules say out loud, answers that do not fit, and those that no longer count.
function noticesView(app, { session, conclusion }) {
  const { kb } = app;
  return [
    cautionBox(raisedLast(app.reasoner, session, conclusion)),
    doubtsOf(kb, session, conclusion).map(({ says, again }) => h("details", { class: "notice" },
      h("summary", {}, h("span", {}, h("b", {}, say("present.look_again")), " ", says)),
      again.map(({ check, asked, said }) =>
        h("p", {}, `${say("present.answered", { asked, said })} `, lookButton(app, check, asked), " ", keepButton(app, check, asked))))),
    lostOf(kb, session, conclusion).map(({ says }) => h("p", { class: "notice" }, says)),
  ];
}

const lookButton = (app, check, asked) =>
  button(say("page.look"), () => app.change(check), { "aria-label": `${say("page.look")}: ${asked}` });

// The answer given once more: it is called into question no more.
const keepButton = (app, check, asked) => button(say("web.keep_right"), () => {
  const { value, sure } = answerTo(app.visit.session, check);
  app.send({ event: "reply", check, value, sure });
}, { "aria-label": `${say("web.keep_right")}: ${asked}` });

const ON_ONE_SCREEN = 4; // causes; the rest of them follows below

function resultView({ kb }, { session, conclusion }) {
  const result = resultOf(kb, session, conclusion, toldBefore(kb, session));
  const [leader, ...others] = result.suspects;
  const folded = others.map((each) => fold(each.cause, suspectLine(each), () => [testView(each), suspectView(each)]));
  return [
    result.caller && callerView(result.caller),
    h("section", { class: "conclusion", "aria-labelledby": "top" },
      h("h2", { id: "top", tabindex: "-1" }, result.title),
      h("p", {}, result.why),
      result.notes.map((note) => h("p", {}, h("b", {}, note))),
      h("h3", {}, suspectLine(leader)),
      cautionsView(leader.test_cautions),
      pair(say("present.test"), leader.test),
      h("p", {}, leader.plan),
      fold(leader.cause, say("page.remedy_and_reasons"), () => suspectView(leader)),
      folded.slice(0, ON_ONE_SCREEN - 1)),
    folded.slice(ON_ONE_SCREEN - 1),
    stripsView(result.strips),
    result.together.map((says) => h("p", {}, says)),
    result.order.length > 0 && fold("order", say("page.in_which_order"),
      () => [h("p", {}, say("present.order")), list(result.order, "ol")]),
    h("p", { class: "small" }, result.statement),
  ];
}

// On the phone: what the caller does himself, who is sent with what, what holds until somebody comes.
function callerView({ own, afterwards, send, bring, meanwhile }) {
  return h("section", { class: "card", "aria-labelledby": "caller" },
    h("h2", { id: "caller" }, say("present.for_caller")),
    own.map(({ says, steps, proof }) => [pair(say("present.caller_own"), says), list(steps, "ol"),
      pair(say("present.caller_sees"), proof)]),
    afterwards.map((proof) => pair(say("present.caller_owed"), proof)),
    send && pair(say("present.send"), send),
    bring && pair(say("present.bring"), bring),
    meanwhile.length > 0 && [h("h3", {}, say("present.meanwhile")), list(meanwhile)]);
}

const suspectLine = ({ number, says, likely }) => `${number}. ${says} - ${likely}`;

const testView = ({ test, test_cautions: cautions, plan }) =>
  [cautionsView(cautions), pair(say("present.test"), test), h("p", {}, plan)];

const suspectView = ({ explain, remedy, speaks_for: pro, speaks_against: contra, rival, source }) => [
  h("p", {}, explain),
  remedy && remedyView(remedy),
  pro.map((says) => pair(say("present.speaks_for"), says)),
  contra.map((says) => pair(say("present.speaks_against"), says)),
  h("p", { class: "small" }, rival),
  h("p", { class: "small" }, `${say("present.source")}: ${source}`),
];

// Cautions first, then what to do, then how to prove it.
function remedyView({ facts, warning, steps, parts, tools, proof, afterwards, cautions }) {
  const named = (key, things) => things.length > 0 && pair(say(key), things.join("; "));
  return [
    cautionsView(cautions),
    cautions.told.length > 0 && h("p", { class: "small" }, say("present.general_hold", { n: cautions.told.length })),
    pair(say("present.remedy"), facts),
    warning && h("p", {}, h("b", {}, warning)),
    list(steps, "ol"),
    named("present.parts", parts), named("present.tools", tools),
    pair(say("present.proof"), proof),
    afterwards.map((says) => pair(say("present.afterwards"), says)),
  ];
}
