// Exact fractions of whole numbers: no dose passes through a floating-point number.

const gcd = (a, b) => { while (b) [a, b] = [b, a % b]; return a < 0n ? -a : a; };

/** A fraction in its lowest terms. */
export function fraction(n, d = 1n) {
  if (d < 0n) [n, d] = [-n, -d];
  const by = gcd(n, d) || 1n;
  return { n: n / by, d: d / by };
}

/** A decimal as people and the interface write it; null where it is none. A comma is refused: it may mean
 *  thousands. */
export function read(text) {
  const parts = /^\s*(\d{1,12})?(?:\.(\d{1,12}))?\s*$/.exec(String(text));
  if (!parts || (parts[1] === undefined && parts[2] === undefined)) return null;
  const behind = parts[2] ?? "";
  return fraction(BigInt((parts[1] ?? "0") + behind), 10n ** BigInt(behind.length));
}

/** `n/d`, as the interface gives what has no end as a decimal. */
export function ratio(text) {
  const [n, d = "1"] = text.split("/");
  return fraction(BigInt(n), BigInt(d));
}

export const plus = (a, b) => fraction(a.n * b.d + b.n * a.d, a.d * b.d);
export const minus = (a, b) => fraction(a.n * b.d - b.n * a.d, a.d * b.d);
export const times = (a, b) => fraction(a.n * b.n, a.d * b.d);
export const over = (a, b) => fraction(a.n * b.d, a.d * b.n);
export const compare = (a, b) => { const l = a.n * b.d, r = b.n * a.d; return l < r ? -1 : l > r ? 1 : 0; };

const floor = (a) => a.n / a.d - (a.n < 0n && a.n % a.d ? 1n : 0n);

/** Rounded down to so many parts of one. */
export const down = (a, parts) => fraction(floor(times(a, fraction(parts))), parts);
/** Rounded up to so many parts of one. */
export const up = (a, parts) => { const low = down(a, parts); return compare(low, a) ? fraction(low.n * (parts / low.d) + 1n, parts) : low; };

/** A decimal without padding zeros; what does not end is cut after twelve places. */
export function plain(a) {
  const whole = floor(a);
  let rest = a.n - whole * a.d, digits = "";
  for (let i = 0; rest && i < 12; i++) { rest *= 10n; digits += rest / a.d; rest %= a.d; }
  return digits ? `${whole}.${digits.replace(/0+$/, "")}`.replace(/\.$/, "") : `${whole}`;
}
