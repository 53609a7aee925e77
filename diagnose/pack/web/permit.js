// Which checks this role may do here and now. The one gate every proposed check passes.

// What whoever does something on this visit is: on a call the caller does it.
function skill({ role, electrician }) {
  if (role === "help_desk") return "caller";
  return electrician ? "electrician" : "technician";
}

// Whether what is for `who` may be done by `doer`: each may do what is for those before it in the list.
const withinRank = (kb, who, doer) => kb.law.ranks.indexOf(who) <= kb.law.ranks.indexOf(doer);

// Whether this role must never do the check, whatever is at hand.
function barred(kb, check, setup) {
  const doer = skill(setup);
  const harmless = check.ask_caller !== "never" && !check.access && !check.tools.length;
  return !withinRank(kb, check.who, doer) || (doer === "caller" && !harmless);
}

// Role, licence, tools and sensor kinds; nothing that depends on what is known so far.
function mayDo(kb, check, setup) {
  const fits = setup.devices.some((d) => check.devices.includes(d));
  if (check.devices.length && setup.devices.length && !fits) return false;
  return !barred(kb, check, setup) && (setup.tools === null || check.tools.every((tool) => setup.tools.includes(tool)));
}

// Every named fact is known and has one of the accepted values.
const holds = (condition, values) => [...condition].every(([fact, accepted]) => accepted.includes(values.get(fact)));

// Its conditions hold, it is unlocked, its fact is not known yet. `stopped`: nothing may run the gate;
// `again`: a repair may have changed its fact.
function openNow(kb, check, values, unlocked, stopped = false, again = false) {
  if ((check.locked && !unlocked.has(check.id)) || (check.runs_gate && stopped)) return false;
  const known = values.has(factName(kb, check.id)) || (check.finding && values.has(check.finding.fact));
  return (again || !known) && holds(check.only_if, values);
}
