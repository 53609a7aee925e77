// The page itself: what is shown when, and what a press does. The address keeps which visit is open over a reload.

class App {
  constructor(payload) {
    speak(payload.words);
    this.kb = Object.assign(readKnowledge(payload), {
      gear: payload.gear, gear_says: payload.gear_says, sensors: payload.sensors, whole: payload.whole, general: new Set(payload.general),
    });
    Object.assign(this, { profiles: payload.profiles, about: payload.about });
    this.reasoner = new Reasoner(this.kb);
    this.store = new VisitStore();
    this.visit = null;
    this.changing = "";
    this.telling = ""; // words that were told and not looked at yet
    this.heardOf = new Set(); // visits whose first words were looked at
    this.singly = singlyKept();
    this.leftOpen = new Set(); // unusual readings that were not taken with others: each is asked by itself
    this.say = (text) => { document.getElementById("status").textContent = text; };
  }

  run() {
    addEventListener("error", ({ message }) =>
      this.say(say("page.went_wrong", { message })));
    addEventListener("hashchange", () => this.follow());
    addEventListener("storage", (event) => {
      if (!this.visit || event.key !== KEY + this.visit.id) return;
      this.attempt(() => this.visit.reload(), say("page.other_tab"));
    });
    document.querySelector("footer").append(...aboutView(this));
    const places = [[say("page.all_visits"), ""], [say("page.new_visit"), "begin"]];
    document.querySelector("nav").append(...places.map(([says, place]) => button(says, () => this.go(place))));
    this.follow();
  }

  // Shows what the address says, once what is being written is there.
  follow() {
    if (this.store.pending) return this.store.settled().then(() => this.follow());
    const [, id] = location.hash.match(/^#visit=(.+)$/u) ?? [];
    this.visit = null;
    if (id && this.store.read(id) !== null) {
      const said = document.getElementById("status").textContent;
      return this.attempt(() => { this.visit = new Visit(this.reasoner, this.store, id); }, said);
    }
    return this.draw();
  }

  go(place) {
    this.changing = "";
    this.telling = "";
    this.say("");
    if (location.hash.slice(1) === place) this.follow();
    else location.hash = place;
  }

  open(id) { this.go(`visit=${id}`); }

  start(event) { this.act(() => this.open(startVisit(this.kb, this.store, event))); }

  takeIn(text) {
    this.act(() => {
      const [id, damage] = takeIn(this.kb, this.store, text);
      this.open(id);
      return damage;
    }, say("page.taken_in"));
  }

  remove(id) { this.act(() => this.store.remove(id)); }

  change(check) {
    this.changing = check;
    this.draw();
  }

  // True, at once or promised, when the events were taken and saved; those before one that was not stay saved.
  send(...events) {
    return this.act(() => {
      for (const event of events) this.visit.send(event);
      this.changing = "";
    });
  }

  // A press while the one before it is still being written is not taken: it was meant for what stood there before.
  act(action, says = "") { return !this.store.pending && this.attempt(action, says); }

  // What comes next is shown only when what came before it is on the disk.
  // Runs, draws again, and says what went wrong without losing anything; true, or promised, when nothing did.
  attempt(action, says = "") {
    let problem = "";
    try {
      says = action() || says;
    } catch (error) {
      if (!(error instanceof DiagnoseError)) throw error;
      problem = error instanceof ImpossibleEvidence ? say("page.impossible") : error.message;
    }
    if (this.store.pending) return this.settled(problem, says);
    return this.shown(problem, says);
  }

  async settled(problem, says) {
    const main = document.getElementById("main");
    main.ariaBusy = "true";
    const well = await this.store.settled();
    main.ariaBusy = null;
    return this.shown(problem, well ? says : say("page.saved_late"));
  }

  shown(problem, says) {
    this.draw();
    this.say(problem ? say("page.not_possible", { why: problem }) : says);
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
  return app.store.lasting ? null : h("p", { class: "stop", role: "alert" }, say("page.nothing_kept"));
}

function visitView(app) {
  const { visit } = app;
  const about = aboutOf(app.kb, visit.session);
  return [
    stopWorkView(app.kb, visit),
    visitTroubles(app, visit),
    noticesView(app, visit),
    h("p", { class: "small" }, timeSays(app.kb, visit.session, visit.conclusion)),
    stageView(app, visit),
    visitActions(app, visit),
    explanations(app, visit),
    !visit.session.end.outcome && fold("tell", say("web.tell_it"), () => tellForm(app)),
    fold("note", say("page.note_it"), () => noteForm(app)),
    fold("hand", say("page.hand_over"), () => handOverView(app, visit)),
    h("p", { class: "small" }, [about.site, about.complaint, about.gear, about.role].filter(Boolean).join(" · ")),
  ];
}

function visitTroubles(app, { session, trouble, told }) {
  const other = session.digest && session.digest !== app.kb.digest && say("page.other_knowledge");
  return [trouble, app.kb.own_says, other, ...told].filter(Boolean)
    .map((says) => h("p", { class: "notice" }, says));
}

// One thing at a time: closed, a proof that is owed, an answer being changed, the next question, or the end.
function stageView(app, visit) {
  const { session, conclusion } = visit;
  if (session.end.outcome) return closedView(app, visit);
  if (pendingRepair(session)) return proofView(app, visit);
  if (app.changing) return questionView(app, visit, app.kb.checks.get(app.changing), true);
  const heard = heardView(app, visit);
  if (heard) return heard;
  if (!session.concluded && conclusion.next.check) {
    return roundView(app, visit) ?? questionView(app, visit, app.kb.checks.get(conclusion.next.check), false);
  }
  if (session.concluded && mendedRepair(session)) return provedView(app, visit);
  return [resultView(app, visit), afterResult(app, visit)];
}

function visitActions(app, { session }) {
  const follow = mayFollow(app.kb, session);
  const asking = !session.concluded && !follow.conclude;
  return h("div", { class: "row", role: "group", "aria-label": say("page.visit") },
    !follow.back && button(say("page.back"), () => app.send(backOf(session))),
    !follow.reopen && button(say("page.reopen"), () => app.send({ event: "reopen" })),
    asking && button(say("page.conclude"), () => app.send({ event: "conclude" })));
}

function aboutView({ about, kb }) {
  const named = { digest: kb.digest, date: about.packed, kinds: kb.gear_says || kb.sensors.map((d) => kb.devices.get(d)).join(", ") };
  return [
    h("p", {}, say("page.on_this_device"), " ", say("present.no_conformity")),
    kb.own_says && h("p", { class: "notice" }, kb.own_says),
    h("p", {}, say(kb.whole ? "page.packed" : "page.packed_for", named)),
  ];
}

const payload = JSON.parse(document.getElementById("knowledge").textContent);
unitTable = readUnits(payload.units);
profileFacts = payload.profile_facts;
const app = new App(payload);
globalThis.gateDiagnose = api(app.reasoner);
app.store.open().then(() => app.run());
