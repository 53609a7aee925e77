// Visits kept in this browser, each as the text of its visit file; the same text is what is handed over.

const KEY = "gate-diagnose.visit.";

class VisitStore {
  constructor() {
    const lasting = lastingShelf();
    this.lasting = lasting !== null;
    this.shelf = lasting ?? new MemoryShelf();
    this.disk = null;
    this.pending = null; // until what was written last is on the disk
  }

  // Takes up what a sudden end kept from the shelf; without a disk everything works on the shelf alone.
  async open() {
    this.disk = this.lasting ? await Disk.open() : null;
    for (const [id, text] of await this.disk?.all().catch(() => []) ?? []) {
      const kept = this.read(id);
      if (kept === null || (kept !== text && text.startsWith(kept))) this.shelf.setItem(KEY + id, text);
    }
  }

  // Resolves to false where the disk failed: then only the shelf has it.
  async settled() {
    const well = await this.pending.then(() => true, () => false);
    this.pending = null;
    return well;
  }

  ids() {
    const keys = [...Array(this.shelf.length).keys()].map((i) => this.shelf.key(i));
    return keys.filter((k) => k?.startsWith(KEY)).map((k) => k.slice(KEY.length));
  }

  read(id) {
    return this.shelf.getItem(KEY + id);
  }

  write(id, text) {
    try {
      this.shelf.setItem(KEY + id, text);
    } catch {
      throw new VisitError(say("page.not_saved"));
    }
    this.keep((disk) => disk.write(id, text));
  }

  remove(id) {
    this.shelf.removeItem(KEY + id);
    this.keep((disk) => disk.remove(id));
  }

  keep(write) {
    if (this.disk) this.pending = Promise.all([this.pending, write(this.disk)]);
  }
}

// localStorage where it really keeps something, else null: some browsers refuse it for files. A full one still does.
function lastingShelf() {
  let shelf = null;
  try {
    shelf = globalThis.localStorage;
    shelf.setItem(`${KEY}?`, "?");
    shelf.removeItem(`${KEY}?`);
    return shelf;
  } catch {
    return shelf?.length ? shelf : null;
  }
}

class MemoryShelf {
  constructor() { this.kept = new Map(); }
  get length() { return this.kept.size; }
  key(i) { return [...this.kept.keys()][i] ?? null; }
  getItem(key) { return this.kept.get(key) ?? null; }
  setItem(key, text) { this.kept.set(key, text); }
  removeItem(key) { this.kept.delete(key); }
}

// One visit that is open on this page. Every event is saved before the session moves on.
class Visit {
  constructor(reasoner, store, id) {
    Object.assign(this, { reasoner, store, id });
    this.reload();
  }

  reload() {
    this.text = this.store.read(this.id) ?? "";
    const { events, times, damage, lines, last, broken } = readJournal(this.text);
    requireGear(this.reasoner.kb, events);
    const { session, told } = salvage(this.reasoner.kb, events);
    Object.assign(this, { events, count: last, began: times[0], damage, told, session });
    if (broken) this.text = asText(lines);
    this.sound = !broken;
    this.conclusion = this.reasoner.conclude(session);
  }

  // Throws SessionError or VisitError and leaves everything as it was.
  send(event) {
    const stored = this.store.read(this.id) ?? "";
    if (this.sound && stored !== this.text) {
      this.reload();
      throw new VisitError(say("page.nothing_overwritten"));
    }
    const { kb } = this.reasoner;
    const first = step(kb, this.session, event);
    const events = [event, ...dueEvents(first, this.reasoner.conclude(first))];
    const session = events.slice(1).reduce((before, next) => step(kb, before, next), first);
    const all = [...this.events, ...events];
    requireBounded(all, this.count + events.length);
    if (!this.sound) this.store.write(`${this.id}.damaged`, stored);
    const [text, count, conclusion] = [this.text + this.written(events), this.count + events.length,
      this.reasoner.conclude(session)];
    this.store.write(this.id, text);
    Object.assign(this, { text, sound: true, count, session, conclusion, events: all });
  }

  // New lines, as they go into the file.
  written(events) {
    const first = this.events[0].event === "begin" ? [this.events[0], this.began] : null;
    return asText(events.map((next, i) => journalLine(next, this.count + 1 + i, timeStamp(), first)));
  }

  // What is damaged or missing, '' where nothing is; in the words of every other front end.
  get trouble() {
    return this.damage && say("store.trouble", { name: this.fileName, damage: this.damage });
  }

  // "20261125-140000.visit", as the command line names its files
  get fileName() {
    return `${this.began.slice(0, 19).replace(/[-:]/g, "").replace("T", "-")}.visit`;
  }
}

// A first line for a new visit; returns its id.
function startVisit(kb, store, event) {
  step(kb, null, event);
  store.write(event.id, `${journalLine(event, 1, timeStamp())}\n`);
  return event.id;
}

const asText = (lines) => lines.map((line) => `${line}\n`).join("");

const PLAIN_ID = /^[\w-]{1,64}$/; // what can stand in the page's address as it is

// Takes in the text of a visit file; returns [id, what to say]. Never overwrites a visit that says something else.
function takeIn(kb, store, text) {
  const { events, damage, lines } = readJournal(text);
  if (!events.length) throw new VisitError(damage || say("page.empty_file"));
  requireGear(kb, events);
  if (!kb.gear.length) requireSensors(kb, events.findLast((e) => e.setup)?.setup.devices ?? []);
  salvage(kb, events);
  const whole = asText(lines);
  const id = placeOf(store, PLAIN_ID.test(events[0].id ?? "") ? events[0].id : newId(), whole);
  store.write(id, whole);
  return [id, damage];
}

// The visit's own place when it is new or goes on from what is kept there; else a place of its own.
function placeOf(store, id, text) {
  const kept = store.read(id);
  return kept === null || text.startsWith(kept) ? id : newId();
}

// A page that was cut to some sensor kinds cannot reason about a visit that may concern others.
function requireSensors(kb, devices) {
  if (kb.whole || (devices.length && devices.every((d) => kb.sensors.includes(d)))) return;
  const kinds = kb.sensors.map((d) => kb.devices.get(d)).join(", ");
  throw new VisitError(say("page.other_kinds", { kinds }));
}

function newId() {
  if (globalThis.crypto?.randomUUID) return globalThis.crypto.randomUUID();
  const bytes = globalThis.crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}
