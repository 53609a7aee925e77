// SHA-256 (FIPS 180-4) of an ASCII text, as hex. Synchronous, and works where crypto.subtle does not.

const ROUND_KEYS = fractionsOfRoots(64, 1 / 3);
const START = fractionsOfRoots(8, 1 / 2);

// First 32 bits of the fractional parts of roots of the first primes: the standard's constants.
function fractionsOfRoots(count, power) {
  const found = [];
  for (let n = 2; found.length < count; n += 1) {
    let prime = true;
    for (let d = 2; d * d <= n; d += 1) prime = prime && n % d !== 0;
    if (prime) found.push(Math.floor((n ** power % 1) * 2 ** 32) | 0);
  }
  return found;
}

const rotated = (x, by) => (x >>> by) | (x << (32 - by));

function sha256(ascii) {
  const words = padded(ascii);
  let hash = START;
  for (let at = 0; at < words.length; at += 16) hash = compressed(hash, words.subarray(at, at + 16));
  return hash.map((x) => (x >>> 0).toString(16).padStart(8, "0")).join("");
}

function padded(ascii) {
  const words = new Int32Array((((ascii.length + 8) >> 6) + 1) * 16);
  for (let i = 0; i < ascii.length; i += 1) words[i >> 2] |= ascii.charCodeAt(i) << (24 - 8 * (i % 4));
  words[ascii.length >> 2] |= 0x80 << (24 - 8 * (ascii.length % 4));
  words[words.length - 1] = ascii.length * 8;
  return words;
}

function compressed(hash, block) {
  const w = schedule(block);
  let [a, b, c, d, e, f, g, h] = hash;
  for (let i = 0; i < 64; i += 1) {
    const s1 = rotated(e, 6) ^ rotated(e, 11) ^ rotated(e, 25);
    const t1 = (h + s1 + ((e & f) ^ (~e & g)) + ROUND_KEYS[i] + w[i]) | 0;
    const s0 = rotated(a, 2) ^ rotated(a, 13) ^ rotated(a, 22);
    const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    [h, g, f, e, d, c, b, a] = [g, f, e, (d + t1) | 0, c, b, a, (t1 + t2) | 0];
  }
  return [a, b, c, d, e, f, g, h].map((x, i) => (x + hash[i]) | 0);
}

function schedule(block) {
  const w = new Int32Array(64);
  w.set(block);
  for (let i = 16; i < 64; i += 1) {
    const s0 = rotated(w[i - 15], 7) ^ rotated(w[i - 15], 18) ^ (w[i - 15] >>> 3);
    const s1 = rotated(w[i - 2], 17) ^ rotated(w[i - 2], 19) ^ (w[i - 2] >>> 10);
    w[i] = (w[i - 16] + s0 + w[i - 7] + s1) | 0;
  }
  return w;
}
