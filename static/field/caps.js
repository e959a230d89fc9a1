// What each cap leaves for a stop, over all products that hold the same ingredient: what is written down here
// counts as poured, what is not answered yet as planned, and what waits on this phone for the same land counts
// too. Exact, as on the server.
import { given, keyOf } from "./draft.js";
import { compare, fraction, minus, over, plus, ratio, read, times } from "./exact.js";
import { items, opened } from "./outbox.js";
import { get } from "./store.js";

const NONE = fraction(0n);
const booked = (dose) => (dose.status === "planned" ? read(dose.amount) : NONE);

/** How much of a dose's product its plant got, or gets as planned. */
export function taken(dose, done) {
  if (done?.did === "skipped") return NONE;
  return given(dose, done) ?? (done?.did ? read(dose.amount) : booked(dose));
}

/** What a finished stop takes beyond what was booked for it, by cap. */
export function draws(visit, draft) {
  const sums = new Map();
  for (const dose of visit.doses) {
    const more = minus(taken(dose, draft.plants[keyOf(dose)]), booked(dose));
    for (const { cap, per } of dose.draws) sums.set(cap, plus(sums.get(cap) ?? NONE, times(more, ratio(per))));
  }
  return [...sums].map(([cap, sum]) => ({ parcel: visit.parcel, cap, amount: `${sum.n}/${sum.d}` }));
}

/** What finished stops on the same land took that the server's figures do not know yet, by cap. */
export async function waiting(visit) {
  const sums = new Map(), heard = (await get("meta", "contact"))?.at ?? 0;
  for (const item of (await items()).filter((one) => one.visit !== visit.id || one.state !== "refused")) {
    const held = await opened(item);
    // Accepted and asked about since: it is in the figures. What is only kept is in nobody's.
    if (!held?.draws || (item.state === "accepted" && !held.kept && item.at <= heard)) continue;
    for (const { parcel, cap, amount } of held.draws) {
      if (parcel === visit.parcel) sums.set(cap, plus(sums.get(cap) ?? NONE, ratio(amount)));
    }
  }
  return sums;
}

/** What a cap leaves beside what waits; null where it cannot be checked. */
export const room = (cap, sums) => (cap.room === null ? null : minus(ratio(cap.room), sums.get(cap.key) ?? NONE));

/** What a cap leaves when the whole stop is counted; null where it cannot be checked. */
export function rest(visit, draft, cap, sums) {
  let free = room(cap, sums);
  for (const dose of free ? visit.doses : []) {
    const draw = dose.draws.find((one) => one.cap === cap.key);
    if (draw) free = minus(free, times(taken(dose, draft.plants[keyOf(dose)]), ratio(draw.per)));
  }
  return free;
}

/** The most of a dose's product that every cap still leaves beside the other doses of the stop; null: none binds. */
export function left(visit, draft, dose, sums) {
  let least = null;
  for (const { cap: key, per } of dose.draws) {
    const cap = visit.caps.find((one) => one.key === key), free = cap && rest(visit, draft, cap, sums);
    if (!free) continue;
    const amount = plus(over(free, ratio(per)), taken(dose, draft.plants[keyOf(dose)]));
    if (least === null || compare(amount, least) < 0) least = amount;
  }
  return least;
}
