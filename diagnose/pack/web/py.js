// Python's way of splitting, rounding and writing numbers, so that both sides say and keep the same text.

const SPACE = /[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+/u;

const splitWords = (text) => text.split(SPACE).filter(Boolean);
const squeezed = (text) => splitWords(text).join(" ");
const spaced = (name) => name.replace(/_/g, " ");
const own = (table, key) => (Object.prototype.hasOwnProperty.call(table, key) ? table[key] : undefined);
const byCodeUnit = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
const unique = (items) => [...new Set(items)];
const sum = (numbers) => numbers.reduce((total, x) => total + x, 0);

// f"{x:.Nf}": Python rounds a tie to even, toFixed() away from zero, and Python keeps the sign of a nought.
function fixed(x, places) {
  const size = Math.abs(x);
  const sign = x < 0 || Object.is(x, -0) ? "-" : "";
  const whole = Math.floor(size);
  const part = (size - whole) * 10 ** places;
  // only a number of few bits can tie, and for such a one `part` is exact
  const tie = Number.isInteger(size * 2 ** (places + 1)) && part % 1 === 0.5;
  if (!tie) return sign + size.toFixed(places);
  const below = Math.floor(part);
  const kept = below + ((places ? below : whole) % 2);
  return sign + (places ? `${whole}.${String(kept).padStart(places, "0")}` : String(whole + kept));
}

// f"{x:.Pg}"
function general(x, precision = 6) {
  if (!Number.isFinite(x)) return Number.isNaN(x) ? "nan" : x < 0 ? "-inf" : "inf";
  if (x === 0) return Object.is(x, -0) ? "-0" : "0";
  const [digits, power] = x.toExponential(precision - 1).split("e");
  const exponent = Number(power);
  if (exponent < -4 || exponent >= precision) return trimmed(digits) + exponentText(exponent);
  return trimmed(fixed(x, precision - 1 - exponent));
}

const trimmed = (digits) => (digits.includes(".") ? digits.replace(/\.?0+$/, "") : digits);

function exponentText(exponent) {
  return `e${exponent < 0 ? "-" : "+"}${String(Math.abs(exponent)).padStart(2, "0")}`;
}

// repr(float(x)): what json.dumps writes for a float.
function floatText(x) {
  const plain = String(x);
  const [digits, power] = Math.abs(x) >= 1e16 || (x !== 0 && Math.abs(x) < 1e-4)
    ? x.toExponential().split("e")
    : [plain, ""];
  if (power) return digits + exponentText(Number(power));
  if (Object.is(x, -0)) return "-0.0";
  return digits.includes(".") ? digits : `${digits}.0`;
}

// round(x, 9), good enough for comparing rates: both sides differ by far less than half a unit of this place.
const rounded9 = (x) => Math.round(x * 1e9) / 1e9;
