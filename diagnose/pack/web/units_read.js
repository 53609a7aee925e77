// The special forms of a reading, plain numbers, and what a unit means; see units.js.

function readOverRange(typed, base, notes) {
  const [first, ...more] = typed.split(" ");
  const unit = more.join(" ");
  const isOver = OVER_RANGE.test(typed) || (OVER_RANGE.test(first) && unitFactor(unit, base.kind));
  const isOpen = base.kind.name === "resistance" && OPEN_LINE.test(typed);
  if (!base.kind.meter_can_overrange || !(isOver || isOpen)) return null;
  notes.push(say("units.over_range"));
  return Infinity;
}

function readGauge(typed, base, notes) {
  const match = base.kind.name === "conductor_size" && typed.match(GAUGE);
  if (!match) return null;
  const gauge = Number(match[1] ?? match[2]);
  const area = unitTable.awg[gauge];
  if (area === undefined) {
    const limits = { low: 0, high: unitTable.awg.length - 1 };
    throw new AnswerError(say("units.no_gauge", { gauge, ...limits, example: exampleOf(base) }));
  }
  notes.push(say("units.gauge_is", { gauge, area: general(area, 3) }));
  return area / base.factor;
}

function readResistorCode(typed, base) {
  const match = base.kind.name === "resistance" && typed.match(RESISTOR_CODE);
  if (!match) return null;
  if (match[2] === "m") throw new AnswerError(whichPrefix("m", "M", base));
  const prefix = "rRM".includes(match[2]) ? match[2].toUpperCase() : "k";
  return Number(`${match[1]}.${match[3]}`) * (base.kind.factors.get(prefix) / base.factor);
}

// A time of day ('17:30', '5:30 pm') where hours are asked for.
function readClock(typed, base, notes) {
  const match = base.symbol === "h" && typed.match(CLOCK);
  if (!match) return null;
  const [hour, minutes, half] = [Number(match[1]), Number(match[2] ?? 0), (match[3] ?? "").toLowerCase()];
  if ((half && !(hour >= 1 && hour <= 12)) || hour * 60 + minutes > 24 * 60) {
    throw new AnswerError(say("units.no_time", { typed }));
  }
  notes.push(say("units.time_of_day"));
  return (half ? (hour % 12) + (half === "p" ? 12 : 0) : hour) + minutes / 60;
}

// Two-part lengths and times ('5 ft 6 in', '1 min 30 s'); null when it is not one.
function readCompound(typed, base, notes) {
  const match = base.kind.compounds && typed.match(COMPOUND)?.groups;
  if (!match) return null;
  const large = unitFactor(match.u1, base.kind);
  const inFeet = base.kind.name === "length" && large === base.kind.factors.get("ft");
  const small = unitFactor(match.u2 || (inFeet ? "in" : ""), base.kind);
  const hyphenIsRange = match.hyphen && !(inFeet && match.u2);
  if (large === null || small === null || small >= large || hyphenIsRange) return null;
  const [first, second] = [readNumber(match.n1, base), readNumber(match.n2, base)];
  if (second * small >= large) return null;
  if (!match.u2) notes.push(say("units.taken_as_inches"));
  return (first * large + second * small) / base.factor;
}

function readNumber(written, base) {
  const typed = written.replace(/([-+]) /g, "$1");
  if (typed.includes("/")) return readTapeFraction(typed, base);
  if (GROUPED.test(typed)) {
    const choices = { whole: typed.replace(/,/g, ""), decimal: typed.replace(/,/g, ".") };
    throw new AnswerError(say("units.two_ways", { typed, ...choices }));
  }
  if (!WRITTEN.test(typed)) {
    throw new AnswerError(say("units.no_number", { typed, example: exampleOf(base) }));
  }
  const value = Number(typed.replace(/,/g, "."));
  if (base.kind.name === "count" && !Number.isInteger(value)) {
    throw new AnswerError(say("units.not_whole", { typed }));
  }
  return value;
}

function readTapeFraction(typed, base) {
  const at = typed.lastIndexOf(" ");
  const [top, ...rest] = typed.slice(at + 1).split("/");
  const bottom = rest.join("/");
  const known = /^[0-9]+$/u.test(bottom) && TAPE_FRACTIONS.includes(Number(bottom));
  if (base.kind.name !== "length" || !known) {
    throw new AnswerError(say("units.not_one_number", { typed, example: exampleOf(base) }));
  }
  const sign = typed.startsWith("-") ? -1 : 1;
  return sign * (Math.abs(Number(at < 0 ? 0 : typed.slice(0, at))) + Math.abs(Number(top)) / Number(bottom));
}

// `value` in the typed unit as a value in the base unit; tells in `notes` what was assumed.
function converted(value, typedUnit, base, notes) {
  const unit = withoutCurrentType(typedUnit, base, notes);
  if (!unit) {
    if (base.kind.name !== "count") notes.push(say("units.no_unit", { unit: base.symbol }));
    return value;
  }
  const factor = unitFactor(unit, base.kind);
  if (factor === null) throw new AnswerError(whyNot(unit, base));
  return value * (factor / base.factor) + (base.kind.offsets.get(spelling(unit, base.kind) ?? "") ?? 0);
}

function withoutCurrentType(typedUnit, base, notes) {
  const unit = typedUnit.replace(/[\s.]/gu, "");
  const match = ["voltage", "current"].includes(base.kind.name) && unit.match(/^(.*)([AaDd][Cc])$/u);
  if (!match) return unit;
  notes.push(say("units.typed_as", { kind: match[2].toUpperCase() }));
  return match[1];
}

function spelling(typed, kind) {
  const unit = typed.replace(/ /g, "");
  if (kind.factors.has(unit)) return unit;
  return [...kind.factors.keys()].find((known) => known.toLowerCase() === unit.toLowerCase()) ?? null;
}

// Size of `unit` in the first unit of `kind`, null when unknown or when m/M is in doubt.
function unitFactor(unit, kind) {
  const known = spelling(unit, kind);
  return known === null || prefixInDoubt(unit, known, kind) ? null : kind.factors.get(known);
}

function prefixInDoubt(unit, known, kind) {
  const isPrefix = known.length === 1 || kind.factors.has(known.slice(1));
  return kind.prefix_case_matters && isPrefix && "mM".includes(known[0]) && unit.trim()[0] !== known[0];
}

function whichPrefix(typed, meant, base) {
  const words = [say("units.milli"), say("units.mega")];
  const [typedWord, meantWord] = typed.startsWith("m") ? words : words.reverse();
  return say("units.which_prefix", { typed, typed_word: typedWord, meant, meant_word: meantWord, like: likeThis(base) });
}

function whyNot(unit, base) {
  const known = spelling(unit, base.kind);
  if (known !== null) return whichPrefix(unit, known, base);
  const other = Object.values(unitTable.kinds).find((kind) => spelling(unit, kind));
  const named = { unit, kind: other && say(`units.kind_${other.name}`), like: likeThis(base) };
  return say(other ? "units.other_kind" : "units.unknown_unit", named);
}

// The tables as they lie in the page -> Maps.
function readUnits({ kinds, bases, same, awg }) {
  const revive = (kind) => ({ ...kind, factors: new Map(kind.factors), offsets: new Map(kind.offsets) });
  const revived = Object.entries(kinds).map(([name, kind]) => [name, revive(kind)]);
  return { kinds: Object.fromEntries(revived), bases: new Map(bases), same: new Map(same), awg };
}
