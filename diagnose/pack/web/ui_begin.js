// The few questions before the first check: who asks, which sensors, with what, what is wrong.

function beginView(app) {
  const kb = app.kb;
  const site = field(say("page.site"), { maxlength: 120 });
  const words = field(say("page.own_words"));
  const complaints = h("div", { class: "choices" });
  const show = () => complaints.replaceChildren(...complaintChoices(kb, typedIn(words.input)));
  words.input.addEventListener("input", show);
  show();
  const problem = h("p", { class: "problem", role: "alert" });
  return [
    h("h2", { tabindex: "-1", id: "top" }, say("page.new_visit")),
    form((made) => beginWith(app, made, { site, words, problem }),
      group(say("page.where"), placesSaid().map(([role, says], i) =>
        choice("radio", "role", role, says, i === 0))),
      group(say("page.which_sensors"), sensorChoices(kb)),
      profileFields(app),
      h("details", {}, h("summary", {}, say("page.missing_tools")),
        group(say("page.tick_missing"), [...kb.tools].map(([id, says]) => choice("checkbox", "missing", id, says)))),
      site.row, words.row,
      group(say("page.what_is_wrong"), [complaints]),
      problem,
      h("button", { type: "submit", class: "main" }, say("page.begin"))),
  ];
}

const group = (says, children) => h("fieldset", {}, h("legend", {}, says), children);

function sensorChoices(kb) {
  if (kb.gear.length) return [h("p", {}, kb.gear_says)];
  const known = [...kb.devices].filter(([id]) => kb.sensors.includes(id));
  const none = say(kb.whole ? "page.every_kind" : "page.only_these_kinds");
  return [...known.map(([id, says]) => choice("checkbox", "device", id, says)), h("p", {}, none)];
}

// Those that sound like the words first; without words, or where nothing fits, all, the commonest first.
function complaintChoices(kb, words) {
  const fitting = words ? matchComplaint(kb, words) : [];
  const others = byCommonness(kb).filter((c) => !fitting.includes(c));
  const row = (c) => choice("radio", "complaint", c, kb.complaints.get(c).says);
  if (!fitting.length) return others.map(row);
  const says = (text) => h("p", {}, text);
  return [says(say("page.which_fits")), ...fitting.map(row), says(say("page.all_others")), ...others.map(row)];
}

function profileFields(app) {
  const of = (kind) => app.profiles.filter((p) => p.kind === kind);
  const options = (kind) => [["", say("page.no_profile")], ...of(kind).map((p) => [p.id, p.says])];
  return ["device", "site"].filter((kind) => of(kind).length).map((kind) => {
    const { input, row } = select(say(`page.profile_${kind}`), options(kind));
    input.name = `profile_${kind}`;
    return row;
  });
}

function beginWith(app, made, { site, words, problem }) {
  const [complaint] = chosenIn(made, "complaint");
  problem.textContent = complaint ? "" : say("page.choose_complaint");
  if (!complaint) return;
  app.start({
    event: "begin", setup: setupFrom(app, made), complaint, words: typedIn(words.input), site: typedIn(site.input),
    digest: app.kb.digest, id: newId(),
  });
}

// The set-up in the plain form of the visit file.
function setupFrom(app, made) {
  const [role] = chosenIn(made, "role");
  const missing = chosenIn(made, "missing");
  const ticked = chosenIn(made, "device");
  const [device, site] = ["device", "site"].map((kind) =>
    app.profiles.find((p) => p.id === made.elements[`profile_${kind}`]?.value));
  const setup = {
    role: role === "help_desk" ? "help_desk" : "technician",
    electrician: role === "electrician",
    devices: ticked.length || app.kb.whole ? ticked : app.kb.sensors,
    profile: site?.facts ?? {},
    ...(app.kb.gear.length ? { gear: app.kb.gear.map(({ name, kind, jobs, facts }) => ({ name, kind, jobs, facts })) } : {}),
    ...(missing.length ? { tools: [...app.kb.tools.keys()].filter((t) => !missing.includes(t)).sort() } : {}),
  };
  return device ? withPapers(setup, device.sensor, device.facts) : setup;
}
