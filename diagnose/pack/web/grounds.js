// The single conditions that events have to meet, by the names the law's table uses: a refusal, or null.

const listed = (table) => [...table.keys()].join(", ");
const valueText = (value) => (isText(value) ? value : floatText(value));
const quoted = (value) => (isText(value) ? `'${value}'` : floatText(value));
const refusedIf = (wrong, kb, key, words) => (wrong ? refused(kb, key, words) : null);

const GROUNDS = {
  known_complaint: (kb, _, { complaint }) => refusedIf(
    !kb.complaints.has(complaint), kb, "complaint", { name: quoted(complaint), known: listed(kb.complaints) }),
  known_devices: (kb, _, { setup }) => unknownDevice(kb, setup.devices ?? [])
    ?? unknownDevice(kb, (setup.gear ?? []).map((d) => d.kind)),
  known_gear: (kb, _, { gear }) => unknownDevice(kb, gear.map((d) => d.kind)),
  one_each: () => null, // requireGear lets no visit in here that calls a device otherwise than it began
  repaired_stay: () => null,
  fits_check: (kb, _, { check, value }) => misfitOf(kb, check, value),
  words_given: (kb, _, { value, note = "" }) => refusedIf(value === SOMETHING_ELSE && !squeezed(note), kb, "no_words"),
  may_be_heard: (kb, _, { check, heard = false }) => refusedIf(heard && decidesHazard(kb, check), kb, "heard_hazard"),
  role_may: (kb, { setup }, { check, value, heard = false }) => refusedIf(
    !NO_ANSWER.includes(value) && !heard && barred(kb, kb.checks.get(check), setup), kb,
    setup.role === "help_desk" ? "not_for_caller" : "not_licensed"),
  gate_may_run: (kb, session, { check, value, heard = false }) => {
    if (NO_ANSWER.includes(value) || heard || !kb.checks.get(check).runs_gate) return null;
    return refusedIf(standing(...stageNow(kb, session), session.attempts).length, kb, "runs_gate");
  },
  something_to_take_back: (kb, { answers, previous }) =>
    refusedIf(!answers.length && !previous, kb, "nothing_to_take_back"),
  something_left: (kb, session) =>
    refusedIf(!leftToAsk(...stageNow(kb, session), session.attempts, lasting(session)), kb, "nothing_left"),
  known_cause: (kb, _, { cause }) => refusedIf(!kb.causes.has(cause), kb, "no_cause", { name: quoted(cause) }),
  doer_may: (kb, session, { cause, by = "" }) => doerMay(kb, session, kb.causes.get(cause), by),
  proved_good: (kb, { repairs, attempts }) =>
    refusedIf(repairs[repairs.length - 1]?.proof !== "passed" || repairs.length <= attempts.length, kb,
      "nothing_proved_good"),
  known_tick: (kb, _, { item, result, reading = "" }) => {
    if (!kb.proofs.has(item)) return refused(kb, "no_item", { name: quoted(item), known: listed(kb.proofs) });
    if (!["pass", "fail", "na"].includes(result)) return refused(kb, "no_result", { name: quoted(result) });
    const bare = result !== "fail" && kb.proofs.get(item).protective && !squeezed(reading);
    return refusedIf(bare, kb, result === "na" ? "no_reason_for_na" : "no_reading_for_pass");
  },
  ticked_at_gate: (kb, { setup }) => refusedIf(setup.role === "help_desk", kb, "ticked_from_afar"),
  known_ending: (kb, _, { outcome }) => refusedIf(own(kb.law.endings, outcome) === undefined, kb, "no_ending",
    { known: Object.keys(kb.law.endings).join(", "), name: quoted(outcome) }),
  reason_given: (kb, _, { reason = "" }) => refusedIf(!squeezed(reason), kb, "no_reason"),
  repair_proved: (kb, session) => {
    const pending = pendingRepair(session);
    return pending && refused(kb, "not_proved", { name: kb.causes.get(pending.cause).says });
  },
  at_gate: (kb, { setup }) => refusedIf(setup.role === "help_desk", kb, "not_at_gate"),
  everything_proved: (kb, session) => {
    const [left] = openItems(kb, session);
    return refusedIf(left, kb, "still_open", { name: left?.says });
  },
  trouble_gone: (kb, session) =>
    refusedIf(session.attempts.length && !mendedRepair(session), kb, "still_wrong"),
  on_phone: (kb, { setup }) => refusedIf(setup.role !== "help_desk", kb, "not_on_phone"),
  no_order: (kb, session) => refusedIf(orderedStops(kb, session).length, kb, "order_stands"),
  something_proved: (kb, { repairs }) => refusedIf(!repairs.some((r) => r.proof === "passed"), kb, "nothing_proved"),
  something_shown: (kb, { repairs, ticks }) =>
    refusedIf(!repairs.some((r) => r.proof === "passed") && !ticks.some((t) => t.result === "pass"), kb, "nothing_shown"),
  protection_untouched: (kb, session) => refusedIf(touchedProtection(kb, session), kb, "protection_owed"),
  protection_touched: (kb, session) => refusedIf(!touchedProtection(kb, session), kb, "no_protection_touched"),
  prover_named: (kb, _, { by = "" }) => refusedIf(!squeezed(by), kb, "no_prover"),
  due_named: (kb, _, { due = "" }) => refusedIf(!isDay(due), kb, "no_due"),
  meanwhile_named: (kb, _, { meanwhile = "" }) => refusedIf(!squeezed(meanwhile), kb, "no_meanwhile"),
  receiver_known: (kb, _, { to = "" }) => refusedIf(!kb.law.receivers.includes(to), kb, "no_receiver",
    { known: kb.law.receivers.join(", ") }),
  nothing_mended: (kb, { repairs }) => refusedIf(repairs.some((r) => r.proof === "passed"), kb, "was_mended"),
  nothing_owed: (kb, session) =>
    GROUNDS[session.setup.role === "help_desk" ? "no_order" : "everything_proved"](kb, session),
  known_note: (kb, _, { text, kind }) => refusedIf(!kb.law.notes.includes(kind) || !squeezed(text), kb, "no_note",
    { known: kb.law.notes.join(", ") }),
  room_for_picture: (kb, { photos }) =>
    refusedIf(photos.length >= kb.law.pictures, kb, "pictures_full", { most: `${kb.law.pictures}` }),
  known_picture: (kb, session, { name, of, which = "" }) => {
    if (!isPhotoName(name)) return refused(kb, "no_picture_name", { name: quoted(name.slice(0, 40)) });
    return refusedIf(!mayBelong(kb, session, of, which), kb, "picture_of_nothing");
  },
};

// Whether this is a day as 2026-12-03.
// Whether the check is about a hazard, about the gate being safe, or can order stop-work.
function decidesHazard(kb, name) {
  const check = kb.checks.get(name);
  const orders = [...kb.rules.values()].filter((rule) => rule.then.stop_work);
  return check.hazard || name === kb.settings.made_safe_check || orders.some((rule) => rule.when.has(factName(kb, name)));
}

function isDay(text) {
  const day = new Date(`${text}T00:00:00Z`);
  return /^[0-9]{4}-[0-9]{2}-[0-9]{2}$/.test(text) && text >= "0001" && !Number.isNaN(day.getTime())
    && day.toISOString().startsWith(text);
}

function unknownDevice(kb, devices) {
  const wrong = devices.find((d) => !kb.devices.has(d));
  return refusedIf(wrong !== undefined, kb, "device", { name: quoted(wrong ?? ""), known: listed(kb.devices) });
}

// The words a check can be answered with; empty for a quantity.
function answersOf(check) {
  if (check.kind === "yes_no") return ["yes", "no"];
  return check.kind === "choice" ? [...check.options.keys()] : [];
}

// Whether a check can be answered with this value at all.
function misfitOf(kb, name, value) {
  const check = kb.checks.get(name);
  if (!check) return refused(kb, "no_check", { name: quoted(name) });
  if (NO_ANSWER.includes(value)) return null;
  const words = { check: name, value: quoted(value) };
  if (check.kind !== "quantity") {
    const known = answersOf(check).sort();
    return refusedIf(!known.includes(value), kb, "no_option", { ...words, known: known.join(", ") });
  }
  const [low, high] = check.hard ?? [-Infinity, Infinity];
  const [least, most] = [low, high].map((limit) => formatReading(limit, check.unit));
  return refusedIf(isText(value) || !(low <= value && value <= high), kb, "no_reading",
    { ...words, low: least, high: most });
}

// Where the visit stands. A file in mid-salvage may hold answers that the knowledge does not.
function stageNow(kb, session) {
  const here = { kb, setup: session.setup, complaint: session.complaint };
  return [here, stageOf(here, given(session).filter((a) => !misfitOf(kb, a.check, a.value)))];
}

// Nobody's word stands in for a licence: the electrician takes the visit over and says it himself.
function doerMay(kb, session, cause, by) {
  const { doers } = kb.law;
  const { setup } = session;
  const { who } = cause.remedy;
  if (by && !doers.includes(by)) return refused(kb, "no_doer", { known: doers.join(", "), name: quoted(by) });
  if (by === "caller") return callerMay(kb, session, cause);
  return refusedIf(!withinRank(kb, who, by || skill(setup)), kb,
    who === "electrician" ? "electrician_only" : "not_by_caller");
}

// Only on the phone, only what the knowledge gives to callers, and nothing at all under a stop-work order.
function callerMay(kb, session, cause) {
  if (session.setup.role !== "help_desk") return refused(kb, "caller_on_phone");
  if (!cause.caller) return refused(kb, "not_by_caller");
  return refusedIf(standing(...stageNow(kb, session), session.attempts).length, kb, "caller_stopped");
}
