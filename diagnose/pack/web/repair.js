// Which repair first, and what the repairs are expected to cost. Kadane & Simon (1977): descending probability per
// minute is optimal for one fault; the list always ends in calling the specialist at a fixed cost.

// Expected minutes of the best repair list. `joint[1..]` are weights of the causes on any scale; `minutes` per cause.
// `order` is the causes' order for a similar row and is sorted in place: neighbouring rows differ little.
function expectedCost(joint, minutes, specialist, order) {
  const total = sumFrom(joint, 1);
  const rate = (i) => joint[i] / minutes[i];
  sortFalling(order, rate);
  let left = 1;
  let spent = 0;
  let best = specialist;
  for (const i of order) {
    spent += minutes[i] * left;
    left -= joint[i] / total;
    best = Math.min(best, spent + specialist * left);
  }
  return best;
}

function sumFrom(numbers, start) {
  let total = 0;
  for (let i = start; i < numbers.length; i += 1) total += numbers[i];
  return total;
}

// Insertion sort: nearly linear where the order hardly changes.
function sortFalling(order, rate) {
  for (let at = 1; at < order.length; at += 1) {
    const moving = order[at];
    const own = rate(moving);
    let to = at;
    for (; to > 0 && rate(order[to - 1]) < own; to -= 1) order[to] = order[to - 1];
    order[to] = moving;
  }
}

// The beginning of the list after which calling the specialist is cheapest; may be none.
function worthTrying(actions, specialist) {
  let [spent, left, best, keep] = [0, 1, specialist, 0];
  actions.forEach((action, i) => {
    spent += action.minutes * left;
    left = Math.max(left - action.probability, 0);
    if (spent + specialist * left < best) [best, keep] = [spent + specialist * left, i + 1];
  });
  return actions.slice(0, keep);
}

// Repair order: best ratio first, a closed group judged by its best prefix (Ottosen & Jensen, UAI 2010).
function bestOrder(actions, opening) {
  const remaining = [...actions];
  const open = new Set([""]);
  const ordered = [];
  while (remaining.length) {
    const groups = unique(remaining.map((a) => a.group));
    const blocks = groups.map((g) => bestPrefix(g, remaining, open, opening));
    const better = (a, b) => b[0] - a[0] || remaining.indexOf(a[1]) - remaining.indexOf(b[1]);
    const chosen = blocks.sort(better)[0][1];
    ordered.push(chosen);
    remaining.splice(remaining.indexOf(chosen), 1);
    open.add(chosen.group);
  }
  return ordered;
}

// [probability per minute of the group's best beginning, its first action]
function bestPrefix(group, remaining, open, opening) {
  const rate = (a) => a.probability / a.minutes;
  const inside = remaining.filter((a) => a.group === group).sort((a, b) => rate(b) - rate(a));
  if (open.has(group)) return [rate(inside[0]), inside[0]];
  let [spent, gained, best] = [opening.get(group), 0, 0];
  for (const action of inside) {
    spent += action.minutes;
    gained += action.probability;
    best = Math.max(best, gained / spent);
  }
  return [best, inside[0]];
}

// Causes in the order their remedies are worth trying; one that only hides a fault never ranks above the fix.
function repairOrder(kb, belief, opened, least) {
  const worth = ranked(belief).filter(([c, p]) => p >= least && c !== kb.settings.outside_cause);
  const actions = worth.map(([c, p]) => repairAction(kb.causes.get(c), p));
  const opening = new Map([...kb.access.values()].map((g) => [g.id, opened.has(g.id) ? 0 : g.minutes]));
  const hides = (a) => Number(kb.causes.get(a.name).remedy.hides_fault);
  const mendingFirst = bestOrder(actions, opening).sort((a, b) => hides(a) - hides(b));
  return worthTrying(mendingFirst, kb.settings.specialist_minutes).map((a) => a.name);
}

function repairAction(cause, probability) {
  const { minutes, access } = cause.remedy;
  return { name: cause.id, probability, minutes: minutes + cause.proof_minutes, group: access };
}
