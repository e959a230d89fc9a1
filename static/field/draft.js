// Work begun at a stop: kept sealed on the phone at every tap, so that neither a reload nor an empty battery
// takes it away. Nothing is ticked beforehand.
import { draws } from "./caps.js";
import { amount, follows } from "./dose.js";
import { plain, read } from "./exact.js";
import { add } from "./outbox.js";
import { get, put } from "./store.js";
import { open, seal } from "./seal.js";
import { uuid7 } from "./ids.js";
import { local } from "./words.js";

const empty = (visit) => ({ visit, plants: {}, lots: {}, site: {}, stop: {}, neighbours: [], photos: [], signs: "", beneficials: "", pests: "", note: "" });

export const keyOf = (dose) => `${dose.plant}.${dose.label_use}`;

/** What was begun at this visit, or nothing yet. */
export async function load(person, visit) {
  const held = await get("drafts", visit);
  return (held && held.person === person && (await open(person, held.sealed))) || empty(visit);
}

let saving = Promise.resolve();

/** Keeps it, one after the other. */
export function save(person, draft) {
  const copy = structuredClone(draft);
  saving = saving.then(async () => put("drafts", draft.visit, { person, visit: draft.visit, sealed: await seal(person, copy) }));
  return saving;
}

/** A number somebody typed: text where it can be read, null where nothing was typed, undefined where not. */
export function typed(text) {
  if (!String(text ?? "").trim()) return null;
  const value = read(text);
  return value ? plain(value) : undefined;
}

/** What was given where another measure or amount was written down; null where it was not. */
export function given(dose, done) {
  if (done?.did !== "measured") return null;
  const poured = read(done.amount ?? ""), measure = read(done.measure ?? "");
  return poured?.n ? poured : measure?.n && follows(dose) ? amount(dose, measure) : null;
}

/** Fields that cannot be sent as they are: [id of the control, name of the text that says why]. */
export function faults(visit, draft) {
  const found = [];
  const number = (id, text) => { if (typed(text) === undefined) found.push([id, "not-a-number"]); };
  visit.doses.forEach((dose, at) => {
    const done = draft.plants[keyOf(dose)] ?? {};
    if (!done.did) found.push([`plant-${at}`, "not-answered"]);
    if (done.did === "skipped" && !done.reason?.trim()) found.push([`reason-${at}`, "say-why"]);
    if (done.did === "measured") {
      const measured = String(done.measure ?? "").trim(), poured = String(done.amount ?? "").trim();
      if (follows(dose) && (measured || !poured) && !(read(measured)?.n > 0n)) found.push([`measure-${at}`, "not-a-measure"]);
      if ((poured || !follows(dose)) && !(read(poured)?.n > 0n)) found.push([`amount-${at}`, "not-a-number"]);
    }
    if (done.did !== "skipped") number(`water-${at}`, done.water);
  });
  ["water_distance_ft", "well_distance_ft"].forEach((name) => number(name, draft.site[name]));
  number("wind_mph", draft.stop.wind_mph);
  if (!/^\s*(-?\d{1,3}(\.\d)?)?\s*$/.test(draft.stop.temperature_f ?? "")) found.push(["temperature_f", "not-a-number"]);
  if (!/^\s*\d{0,4}\s*$/.test(draft.signs)) found.push(["signs", "not-a-number"]);
  return found;
}

/** What a rule asks for and nobody wrote down: [id, field]. It is sent without, where they say so. */
export function lacks(visit, draft) {
  const asked = new Set(visit.asked.map((one) => one.field)), found = [];
  for (const name of ["started_at", "wind_direction", "wind_mph", "temperature_f"]) {
    if (asked.has(name) && !String(draft.stop[name] ?? "").trim()) found.push([name, name]);
  }
  visit.doses.forEach((dose, at) => {
    const done = draft.plants[keyOf(dose)] ?? {};
    if (asked.has("water") && done.did !== "skipped" && !String(done.water ?? "").trim()) found.push([`water-${at}`, "water"]);
  });
  const injected = visit.doses.some((d) => d.method === "soil-injection" && draft.plants[keyOf(d)]?.did !== "skipped");
  if (injected && !draft.site.utility_ticket?.trim()) found.push(["utility_ticket", "utility_ticket"]);
  return found;
}

function plant(dose, done, lots) {
  const one = { plant: dose.plant, label_use: dose.label_use, label_version: dose.label_version, did: done.did };
  if (done.did === "skipped") return { ...one, reason: done.reason.trim() };
  one.lot = (lots[dose.product] ?? "").trim();
  one.unit = dose.unit;
  if (done.did === "measured") {
    if (follows(dose) && typed(done.measure)) one.measure = typed(done.measure);
    one.amount = typed(done.amount) ?? plain(amount(dose, read(done.measure)));
  } else {
    // The figure that the phone showed, whatever is booked by now.
    one.measure = dose.measure;
    one.amount = dose.amount;
  }
  const water = typed(done.water);
  return water === null ? one : { ...one, water, water_unit: "cup" };
}

const filled = (from) => Object.fromEntries(Object.entries(from).map(([k, v]) => [k, String(v ?? "").trim()]).filter(([, v]) => v));

/** Finishes the visit: what was done goes into the queue, signed by whoever tapped. */
export async function finish(me, visit, draft) {
  await saving;
  const now = new Date(), at = now.toISOString(), id = uuid7(now.getTime());
  const completion = {
    id, visit: visit.id, completed_at: at,
    plants: visit.doses.map((dose) => plant(dose, draft.plants[keyOf(dose)], draft.lots)),
    stop: { finished_at: local(now, me.time_zone).time, ...filled(draft.stop) },
    site: filled(draft.site),
    neighbours_told: draft.neighbours,
    signs_posted: draft.signs.trim() ? Number(draft.signs) : null,
    beneficials: draft.beneficials, pests: draft.pests, photos: draft.photos, note: draft.note,
    signature: { name: me.name, at },
  };
  await add(me.person, completion, { street: visit.site.street, on: visit.on }, draws(visit, draft));
  return id;
}
