// Completions from the moment when they are finished until the server has accepted them.
// An item lies open only with what the queue needs: whose it is, its state, how often it was tried.
//   waiting   on this phone
//   sent      on its way, not answered yet
//   accepted  the server has it; kept while it says something that deserves a look
//   refused   the server did nothing and will not: it stays, with what to do
import { NoAnswer, send } from "./server.js";
import { all, change, put, remove } from "./store.js";
import { hold, open, openBytes, seal } from "./seal.js";
import { uuid7 } from "./ids.js";

const AT_ONCE = 20;
const FIRST_WAIT = 2_000, LONGEST_WAIT = 300_000;

/** Puts a completion with its photos into the queue, in the place of its draft. `draws` is what it takes of the
 *  caps on its land beyond what was booked. */
export async function add(person, completion, title, draws) {
  const id = completion.id, held = { completion, key: uuid7(), title, draws, notes: [] };
  const sealed = await seal(person, held);
  await change(["outbox", "drafts"], (at) => {
    at("outbox").put({ id, person, visit: completion.visit, state: "waiting", tries: 0, next: 0, sealed }, id);
    at("drafts").delete(completion.visit);
  });
}

/** Every item, oldest first. */
export const items = async () => (await all("outbox")).sort((a, b) => (a.id < b.id ? -1 : 1));

/** How many completions and photos the server has not accepted. */
export async function count() {
  const waiting = (await all("outbox")).filter((item) => item.state === "waiting" || item.state === "sent");
  const refused = (await all("outbox")).filter((item) => item.state === "refused");
  return { waiting: waiting.length, refused: refused.length, photos: (await all("photos")).length };
}

export const opened = (item) => open(item.person, item.sealed);
export const drop = (id) => remove("outbox", id);

/** When to try again after so many tries: twice as long each time, not all phones at once. */
export const wait = (tries) => Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** Math.min(tries - 1, 20)) * (0.5 + Math.random() / 2);

/** Tries a refused item under a key of its own again. */
export async function again(item) {
  const held = await opened(item);
  held.key = uuid7();
  held.notes = [];
  await put("outbox", item.id, { ...item, state: "waiting", tries: 0, next: 0, sealed: await seal(item.person, held) });
}

async function later(item) {
  const tries = item.tries + 1;
  await put("outbox", item.id, { ...item, state: "waiting", tries, next: Date.now() + wait(tries) });
}

const REFUSED = [400, 413, 422];

async function settle(item, held, outcome) {
  if (outcome.status >= 200 && outcome.status < 300) {
    const notes = outcome.notes ?? [];
    held = { ...held, notes, record: outcome.record, kept: outcome.state === "kept" };
    const sealed = await seal(item.person, held);
    return put("outbox", item.id, { ...item, state: "accepted", quiet: notes.length === 0, at: Date.now(), sealed });
  }
  if (!REFUSED.includes(outcome.status)) return later(item);
  const notes = outcome.notes ?? [{ code: "refused", words: outcome.detail ?? "", to_do: "" }];
  return put("outbox", item.id, { ...item, state: "refused", sealed: await seal(item.person, { ...held, notes }) });
}

/** Sends whatever is to be sent now; what goes wrong waits for its next turn. `changed` hears of every step. */
export async function flush(person, changed) {
  const due = (await items()).filter((i) => i.person === person && (i.state === "sent" || i.state === "waiting") && i.next <= Date.now());
  const batch = due.slice(0, AT_ONCE), held = [];
  for (const item of batch) held.push(await opened(item));
  if (batch.length) {
    for (const item of batch) await put("outbox", item.id, { ...item, state: "sent" });
    changed();
    try {
      const sent = { sent_at: new Date().toISOString(), items: held.map(({ key, completion }) => ({ key, completion })) };
      const { status, said } = await send("POST", "/api/completions", "application/json", JSON.stringify(sent));
      // A batch of one is answered with its own status where it was refused.
      for (const [at, item] of batch.entries()) await settle(item, held[at], status === 200 ? said.outcomes[at] : { ...said, status });
    } catch (reason) {
      for (const item of batch) await later(item);
      throw reason;
    } finally {
      changed();
    }
  }
  if (due.length > batch.length) return flush(person, changed);
  await photos(person, changed);
}

async function photos(person, changed) {
  for (const photo of (await all("photos")).filter((p) => p.person === person && p.state !== "refused" && !p.draft && p.next <= Date.now())) {
    const bytes = await openBytes(person, photo.sealed);
    let status = 0;
    try {
      ({ status } = await send("PUT", `/api/photos/${photo.id}`, "image/jpeg", bytes));
    } catch (reason) {
      if (!(reason instanceof NoAnswer)) throw reason;
    }
    if (status === 200) await remove("photos", photo.id);
    else if ([400, 409, 413, 415].includes(status)) await put("photos", photo.id, { ...photo, state: "refused" });
    else await put("photos", photo.id, { ...photo, tries: photo.tries + 1, next: Date.now() + wait(photo.tries + 1) });
    changed();
    if (!status) return;
  }
}

/** The owner opens what somebody left on this phone: it becomes theirs, and is sent under their name. */
export async function takeOver(owner, person) {
  const { status, said } = await send("POST", `/api/phone-keys/${person}`, "application/json", "");
  if (status !== 200) return;
  await hold(person, said.phone_key);
  try {
    for (const item of (await items()).filter((i) => i.person === person)) {
      const sealed = await seal(owner, await opened(item));
      await put("outbox", item.id, { ...item, person: owner, next: 0, sealed });
    }
    for (const photo of (await all("photos")).filter((p) => p.person === person && !p.draft)) {
      const sealed = await seal(owner, await openBytes(person, photo.sealed));
      await put("photos", photo.id, { ...photo, person: owner, next: 0, sealed });
    }
  } finally {
    await remove("keys", person);
  }
}

/** When the next item wants its turn; none: nothing waits. */
export async function nextTurn(person) {
  const waiting = [...(await all("outbox")), ...(await all("photos"))]
    .filter((i) => i.person === person && !i.draft && !["accepted", "refused"].includes(i.state));
  return waiting.length ? Math.min(...waiting.map((i) => i.next)) : undefined;
}

/** Forgets what was accepted without a word, a day later. */
export async function tidy() {
  for (const item of await all("outbox")) {
    if (item.state === "accepted" && item.quiet && Date.now() - item.at > 86_400_000) await remove("outbox", item.id);
  }
}

/** The state of each visit's completion that is here. */
export async function byVisit() {
  const states = new Map();
  for (const item of await items()) states.set(item.visit, item.state);
  return states;
}

