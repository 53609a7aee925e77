// The visits kept in this browser; handing one over, taking one in, removing one.

function visitsView(app) {
  const rows = app.store.ids().map((id) => listedVisit(app, id)).sort((a, b) => byCodeUnit(b.began, a.began));
  return [
    h("h2", { id: "top", tabindex: "-1" }, say("page.visits")),
    button(say("page.new_visit"), () => app.go("begin"), { class: "main" }),
    rows.length ? h("ul", { class: "visits" }, rows.map((row) => h("li", { class: "card" }, row.view)))
      : h("p", {}, say("page.none_yet")),
    takeInForm(app),
  ];
}

function listedVisit(app, id) {
  try {
    const { events, times, damage } = readJournal(app.store.read(id));
    const begin = events[0];
    const says = begin ? app.kb.complaints.get(begin.complaint)?.says ?? begin.complaint : say("page.unreadable");
    const answers = events.filter((e) => e.event === "reply").length;
    const last = events[events.length - 1]?.event;
    const state = say(`page.visit_${["conclude", "close"].includes(last) ? last : "open"}`);
    const facts = [begin?.site, says, say("page.answers", { n: answers }), state, damage].filter(Boolean).join(", ");
    return { began: times[0] ?? "", view: visitRow(app, id, `${localTime(times[0])} ${facts}`) };
  } catch (error) {
    if (!(error instanceof DiagnoseError)) throw error;
    return { began: "", view: visitRow(app, id, error.message) };
  }
}

// "2026-11-25 15:00" where the person is; '' for what is no time.
function localTime(at) {
  const local = new Date(at);
  if (Number.isNaN(local.getTime())) return "";
  const two = (n) => String(n).padStart(2, "0");
  const day = [local.getFullYear(), two(local.getMonth() + 1), two(local.getDate())].join("-");
  return `${day} ${two(local.getHours())}:${two(local.getMinutes())}`;
}

function visitRow(app, id, says) {
  return [
    h("p", {}, says),
    h("div", { class: "row" }, button(say("page.open"), () => app.open(id), { "aria-label": `${say("page.open")}: ${says}` }),
      h("details", {}, h("summary", {}, say("page.remove")),
        h("p", {}, say("page.removing")),
        button(say("page.remove_it"), () => app.remove(id),
          { "aria-label": `${say("page.remove_it")}: ${says}` }))),
  ];
}

const LARGEST_FILE = 2000000; // bytes, as the command line

function takeInForm(app) {
  const file = field(say("page.take_in"), { type: "file", accept: ".visit" });
  file.input.removeAttribute("maxlength");
  file.input.addEventListener("change", async () => {
    const [chosen] = file.input.files;
    if (chosen?.size > LARGEST_FILE) app.say(say("page.not_possible", { why: say("page.file_too_large") }));
    else if (chosen) app.takeIn(await chosen.text());
  });
  return h("section", { "aria-label": say("page.take_in_visit") }, file.row);
}

// The visit file, to download or to copy where downloads are not allowed; and going on in another role.
function handOverView(app, visit) {
  const copy = field(say("page.copy_text"), { readonly: true, rows: 4 }, "textarea");
  copy.input.removeAttribute("maxlength");
  copy.input.value = visit.text;
  return [
    h("p", {}, say("page.command_line")),
    button(say("page.save", { file: visit.fileName }), () => download(visit.fileName, visit.text), { class: "main" }),
    copy.row,
    takeOverForm(app, visit),
  ];
}

function download(name, text) {
  const url = URL.createObjectURL(new Blob([text], { type: "application/octet-stream" }));
  h("a", { href: url, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

function takeOverForm(app, { session }) {
  const { role, electrician } = session.setup;
  const now = role === "technician" && electrician ? "electrician" : role;
  const who = select(say("page.go_on_as"), placesSaid(), now);
  const by = field(say("page.your_name"), { maxlength: 120 });
  const send = () => app.send({ event: "take_over", by: typedIn(by.input), setup: setupFor(session, who.input.value) });
  return form(send, who.row, by.row, h("button", { type: "submit" }, say("page.take_over")));
}

// As `diagnose takeover`: in one's own role, with every tool, at the same installation.
function setupFor(session, role) {
  const { devices, profile, gear } = session.setup;
  return {
    role: role === "help_desk" ? "help_desk" : "technician", electrician: role === "electrician", devices,
    profile: Object.fromEntries(profile),
    ...(gear.length ? { gear } : {}),
  };
}
