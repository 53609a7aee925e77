// The few questions before the first check: who asks, which sensors, with what, what is wrong.

function beginView(app) {
  const kb = app.kb;
  const site = field("What is this site called? (for your list)", { maxlength: 120 });
  const words = field("In the site's own words (optional)");
  const complaints = h("div", { class: "choices" });
  const show = () => complaints.replaceChildren(...complaintChoices(kb, typedIn(words.input)));
  words.input.addEventListener("input", show);
  show();
  const problem = h("p", { class: "problem", role: "alert" });
  return [
    h("h2", { tabindex: "-1", id: "top" }, "A new visit"),
    form((made) => beginWith(app, made, { site, words, problem }),
      group("Where are you?", placesSaid().map(([role, says], i) =>
        choice("radio", "role", role, `${spaced(role)}: ${says}`, i === 0))),
      group("Which sensors are there?", sensorChoices(kb)),
      profileFields(app),
      h("details", {}, h("summary", {}, "Tools you do not have with you"),
        group("Tick what is missing", [...kb.tools].map(([id, says]) => choice("checkbox", "missing", id, says)))),
      site.row, words.row,
      group("What is wrong?", [complaints]),
      problem,
      h("button", { type: "submit", class: "main" }, "Begin")),
  ];
}

const group = (says, children) => h("fieldset", {}, h("legend", {}, says), children);

function sensorChoices(kb) {
  const known = [...kb.devices].filter(([id]) => kb.sensors.includes(id));
  const none = kb.whole ? "None ticked: not known, every kind is considered."
    : "This page holds only these kinds; none ticked: all of them.";
  return [...known.map(([id, says]) => choice("checkbox", "device", id, says)), h("p", {}, none)];
}

// Those that sound like the words first; without words, or where nothing fits, all, the commonest first.
function complaintChoices(kb, words) {
  const fitting = words ? matchComplaint(kb, words) : [];
  const others = byCommonness(kb).filter((c) => !fitting.includes(c));
  const row = (c) => choice("radio", "complaint", c, kb.complaints.get(c).says);
  if (!fitting.length) return others.map(row);
  const says = (text) => h("p", {}, text);
  return [says("Which of these fits best?"), ...fitting.map(row), says("All the others:"), ...others.map(row)];
}

function profileFields(app) {
  const of = (kind) => app.profiles.filter((p) => p.kind === kind);
  const options = (kind) => [["", "none"], ...of(kind).map((p) => [p.id, p.says])];
  return ["device", "site"].filter((kind) => of(kind).length).map((kind) => {
    const { input, row } = select(kind === "device" ? "Profile of the device" : "Profile of the site", options(kind));
    input.name = `profile_${kind}`;
    return row;
  });
}

function beginWith(app, made, { site, words, problem }) {
  const [complaint] = chosenIn(made, "complaint");
  problem.textContent = complaint ? "" : "Choose what is wrong.";
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
  const ids = ["device", "site"].map((kind) => made.elements[`profile_${kind}`]?.value);
  const profile = Object.assign({}, ...ids.map((id) => app.profiles.find((p) => p.id === id)?.facts ?? {}));
  return {
    role: role === "help_desk" ? "help_desk" : "technician",
    electrician: role === "electrician",
    devices: ticked.length || app.kb.whole ? ticked : app.kb.sensors,
    profile,
    ...(missing.length ? { tools: [...app.kb.tools.keys()].filter((t) => !missing.includes(t)).sort() } : {}),
  };
}
