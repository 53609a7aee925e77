// The page itself: what is shown when, and what a press does. The address keeps which visit is open over a reload.

class App {
  constructor(payload) {
    speak(payload.words);
    this.kb = Object.assign(readKnowledge(payload), { sensors: payload.sensors, whole: payload.whole });
    Object.assign(this, { profiles: payload.profiles, about: payload.about });
    this.reasoner = new Reasoner(this.kb);
    this.store = new VisitStore();
    this.visit = null;
    this.changing = "";
    this.say = (text) => { document.getElementById("status").textContent = text; };
  }

  run() {
    addEventListener("error", ({ message }) =>
      this.say(`Something went wrong in this page (${message}); every answer given before is kept.`));
    addEventListener("hashchange", () => this.follow());
    addEventListener("storage", (event) => {
      if (!this.visit || event.key !== KEY + this.visit.id) return;
      this.attempt(() => this.visit.reload(), "This visit was changed in another tab; its newest state is shown.");
    });
    document.querySelector("footer").append(...aboutView(this));
    const places = [["All visits", ""], ["New visit", "begin"]];
    document.querySelector("nav").append(...places.map(([says, place]) => button(says, () => this.go(place))));
    this.follow();
  }

  // Shows what the address says.
  follow() {
    const [, id] = location.hash.match(/^#visit=(.+)$/u) ?? [];
    this.visit = null;
    if (id && this.store.read(id) !== null) {
      const said = document.getElementById("status").textContent;
      this.attempt(() => { this.visit = new Visit(this.reasoner, this.store, id); }, said);
    } else this.draw();
  }

  go(place) {
    this.changing = "";
    this.say("");
    if (location.hash.slice(1) === place) this.follow();
    else location.hash = place;
  }

  open(id) { this.go(`visit=${id}`); }

  start(event) { this.attempt(() => this.open(startVisit(this.kb, this.store, event))); }

  takeIn(text) {
    this.attempt(() => {
      const [id, damage] = takeIn(this.kb, this.store, text);
      this.open(id);
      return damage;
    }, "Taken in.");
  }

  remove(id) {
    this.store.remove(id);
    this.draw();
  }

  change(check) {
    this.changing = check;
    this.draw();
  }

  // True when the event was taken and saved.
  send(event) {
    return this.attempt(() => {
      this.visit.send(event);
      this.changing = "";
    });
  }

  // Runs, draws again, and says what went wrong without losing anything; true when nothing did.
  attempt(action, says = "") {
    let problem = "";
    try {
      says = action() || says;
    } catch (error) {
      if (!(error instanceof DiagnoseError)) throw error;
      problem = error.message;
    }
    this.draw();
    this.say(problem ? `Not possible: ${problem}` : says);
    return !problem;
  }

  draw() {
    const view = this.visit ? visitView(this) : location.hash === "#begin" ? beginView(this) : visitsView(this);
    document.getElementById("main").replaceChildren(...[storageWarning(this), view].flat(Infinity).filter(Boolean));
    scrollTo(0, 0);
    document.getElementById("top")?.focus({ preventScroll: true });
  }
}

function storageWarning(app) {
  return app.store.lasting ? null : h("p", { class: "stop", role: "alert" },
    "This browser keeps nothing for this page: what you answer is lost when it closes. Save the visit file before.");
}

function visitView(app) {
  const { visit } = app;
  return [
    stopWorkView(app.kb, visit),
    visitTroubles(app, visit),
    noticesView(app, visit),
    stageView(app, visit),
    visitActions(app, visit),
    explanations(app, visit),
    fold("hand", "Hand over this visit", () => handOverView(app, visit)),
    h("p", { class: "small" }, [visit.session.site, app.kb.complaints.get(visit.session.complaint).says,
      spaced(visit.session.setup.role)].filter(Boolean).join(" · ")),
  ];
}

function visitTroubles(app, { session, damage, told }) {
  const other = session.digest && session.digest !== app.kb.digest
    && "The knowledge has changed since this visit began; conclusions are drawn from this page's.";
  return [damage, other, ...told].filter(Boolean)
    .map((says) => h("p", { class: "notice" }, says));
}

// One thing at a time: closed, a proof that is owed, an answer being changed, the next question, or the end.
function stageView(app, visit) {
  const { session, conclusion } = visit;
  if (session.outcome) return closedView(app, visit);
  if (pendingRepair(session)) return proofView(app, visit);
  if (app.changing) return questionView(app, visit, app.kb.checks.get(app.changing), true);
  if (!session.concluded && conclusion.next.check) {
    return questionView(app, visit, app.kb.checks.get(conclusion.next.check), false);
  }
  if (session.concluded && mendedRepair(session)) return provedView(app, visit);
  return [resultView(app, visit), afterResult(app, visit)];
}

function visitActions(app, { session }) {
  const follow = mayFollow(app.kb, session);
  const asking = !session.concluded && !follow.conclude;
  return h("div", { class: "row", role: "group", "aria-label": "Visit" },
    !follow.back && button("Back", () => app.send({ event: "back" })),
    asking && button("Conclude now", () => app.send({ event: "conclude" })));
}

function aboutView({ about, kb }) {
  return [
    h("p", {}, "Works without a network; everything stays on this device. Decision support, not a conformity "
      + "statement: local codes and licensed practice decide."),
    h("p", {}, `Knowledge ${kb.digest}, packed on ${about.packed}${kb.whole ? "" : `, for ${kb.sensors.join(", ")}`}.`),
  ];
}

const payload = JSON.parse(document.getElementById("knowledge").textContent);
unitTable = readUnits(payload.units);
profileFacts = payload.profile_facts;
const app = new App(payload);
globalThis.gateDiagnose = api(app.reasoner);
app.run();
