// What was heard in somebody's words, to be taken line by line; and the field for what else was said.

// The words to look at now: those that were just told, or the first words of a visit that has no answer yet.
function wordsToHear(app, { id, session }) {
  if (app.telling) return app.telling;
  const fresh = !given(session).length && !session.concluded && !app.heardOf.has(id);
  return fresh ? session.words : "";
}

// Null where there is nothing to look at.
function heardView(app, visit) {
  const words = wordsToHear(app, visit);
  const { lines, dangers } = words ? listened(app.kb, visit.session, words) : { lines: [], dangers: [] };
  const nothing = app.telling && !lines.length && !dangers.length;
  if (nothing) app.say(say("terminal.heard_nothing"));
  app.telling = nothing ? "" : app.telling;
  if (!lines.length && !dangers.length) return null;
  const boxes = lines.map(({ says, reply }) => [choice("checkbox", "take", reply.check, says, true), reply]);
  const take = async () => {
    const standing = boxes.filter(([row]) => row.querySelector("input").checked).map(([, reply]) => reply);
    app.heardOf.add(visit.id);
    app.telling = "";
    if (!standing.length) app.draw();
    for (const reply of standing) await app.send(reply);
  };
  return h("section", { class: "card", "aria-labelledby": "top" },
    h("h2", { id: "top", tabindex: "-1" }, say("present.heard")),
    h("p", {}, words),
    dangers.map((says) => h("p", { class: "notice", role: "alert" }, says)),
    form(take, lines.length > 0 && group(say("web.heard_how"), boxes.map(([row]) => row)),
      h("button", { type: "submit", class: "main" }, say("web.heard_go_on"))));
}

function tellForm(app) {
  const text = field(say("terminal.ask_tell"));
  const tell = () => {
    app.telling = typedIn(text.input);
    app.draw();
  };
  return form(tell, text.row, h("button", { type: "submit" }, say("web.listen")));
}
