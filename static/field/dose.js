// What to pour: product = rate x measure x count / rate_per, water within its band. The same arithmetic and the same
// rounding as on the server: nobody is told to pour more than the exact dose.
import { compare, down, fraction, over, plain, plus, read, times, up } from "./exact.js";
import { knows, say } from "./words.js";

/** One US cup is 236.5882365 mL, one gallon sixteen cups. */
const MILLILITRE = over(fraction(1n), read("236.5882365"));
const CUPS = {
  mL: MILLILITRE, L: times(MILLILITRE, fraction(1000n)), floz: fraction(1n, 8n), cup: fraction(1n), pt: fraction(2n), qt: fraction(4n), gal: fraction(16n),
};

const PIECES = ["packet", "tablet"];
const TAPES = { "height-ft": "ft", "diameter-in": "in", "circumference-in": "in", "area-1000sqft": "thousand-sqft", "area-acre": "acres" };

export const unit = (code) => (code === "floz" ? "fl oz" : PIECES.includes(code) ? say(code, { count: 2 }) : code);

/** The unit on the tape; nothing where plants are merely counted. */
export function tape(basis) {
  const name = TAPES[basis] ?? "";
  return knows(name) ? say(name) : name;
}

/** Whether another measure gives another dose: pieces are not divided, and counted plants have no measure. */
export const follows = (dose) => Boolean(tape(dose.measure_basis)) && !PIECES.includes(dose.unit);

/** How often the rate is poured at this measure. */
const often = (dose, measure) => over(times(measure, fraction(BigInt(dose.count))), read(dose.rate_per));

/** The exact amount at this measure. */
export const amount = (dose, measure) => times(read(dose.rate), often(dose, measure));

/** An amount as the cup shows it, rounded down. */
export function pour(value, code) {
  const least = down(value, ["mL", "g", "mg"].includes(code) ? 10n : 100n);
  const whole = fraction(1n), count = compare(least, whole) ? 2 : 1;
  const said = { amount: `${plain(least)} ${PIECES.includes(code) ? say(code, { count }) : unit(code)}` };
  return compare(least, value) ? say("rounded-down", said) : said.amount;
}

/** Least and most water in cups, quarters of them; null where the label gives none. */
export function cups(dose, measure) {
  const each = CUPS[dose.water_unit];
  if (!each || dose.water_low === null || dose.water_high === null) return null;
  const all = times(often(dose, measure), each);
  const low = up(times(read(dose.water_low), all), 4n);
  const high = down(times(read(dose.water_high), all), 4n);
  return { low, high: compare(high, low) < 0 ? low : high };
}

/** `1 1/4`: as the cup is marked. */
export function quarters(value) {
  const whole = down(value, 1n), part = { 1: "1/4", 2: "1/2", 3: "3/4" }[Number(value.n * (4n / value.d)) % 4] ?? "";
  if (!part) return plain(whole);
  return whole.n === 0n ? part : `${plain(whole)} ${part}`;
}

const range = (low, high, name) => {
  const count = compare(high, fraction(1n)) > 0 ? 2 : 1;
  const said = compare(low, high) ? say("from-to", { low: quarters(low), high: quarters(high) }) : quarters(low);
  return say(name, { count, said });
};

/** The water in words: quarter cups, and gallons where that is more than a gallon. */
export function water(dose, measure) {
  const band = cups(dose, measure);
  if (!band) return "";
  const said = range(band.low, band.high, "cups"), gallon = fraction(16n);
  if (compare(band.high, gallon) < 0) return said;
  const low = up(over(band.low, gallon), 4n);
  let high = down(over(band.high, gallon), 4n);
  if (compare(high, low) < 0) high = low;
  return range(low, high, "gallons") + (compare(band.low, gallon) < 0 ? ` (${said})` : "");
}

/** Least and most water to choose from, in cups and in the words of `water`. */
export function offers(dose, measure) {
  const band = cups(dose, measure), gallon = fraction(16n);
  if (!band) return [];
  let { low, high } = band, name = "cups", each = fraction(1n);
  if (compare(low, gallon) >= 0) {
    [name, each, low, high] = ["gallons", gallon, up(over(low, gallon), 4n), down(over(high, gallon), 4n)];
    if (compare(high, low) < 0) high = low;
  }
  return (compare(low, high) ? [low, high] : [low]).map((value) => ({ cups: times(value, each), words: range(value, value, name) }));
}
