// Who is signed in, their visits, and the queue: asked for when the page opens, when signal comes back, and
// when an item's turn has come. Nothing here relies on the browser doing it in the background.
import { fetchAll, grouped, list } from "./documents.js";
import { NoAnswer, SignedOut, fetchJson } from "./server.js";
import { all, change, get, put, remove, wipe } from "./store.js";
import { flush, nextTurn, tidy, wait } from "./outbox.js";
import { hold } from "./seal.js";

const OFTEN = 5 * 60_000;
let listener = () => {}, timer, running, silent = 0, left = 0;

/** Who hears when something changed: `visits`, `outbox`, `session`, `documents`. */
export const listen = (to) => { listener = to; };

/** Who is signed in on this phone, unless their time is over. */
export async function me() {
  const held = await get("meta", "me");
  if (!held) return null;
  if (Date.now() - (held.ahead ?? 0) < Date.parse(held.holds_until)) return held;
  await wipe();
  return null;
}

/** Ends a session that somebody left, if need be once there is signal: the server's cookie outlives the tap. */
export async function endSession() {
  const token = await get("meta", "leaving");
  if (!token) return;
  try {
    await fetch("/sign-out", { method: "POST", body: new URLSearchParams({ csrf: token }), redirect: "manual" });
    await remove("meta", "leaving");
  } catch {
    // Nobody answers yet: it ends at the next contact.
  }
}

/** Whoever was asked about has left meanwhile: what is still on its way is not for this phone. */
export const depart = () => { left += 1; };
const stays = (then) => { if (then !== left) throw new NoAnswer("somebody left"); };

async function meet(then) {
  const asked = Date.now(), session = await fetchJson("/api/session"), before = await get("meta", "me");
  stays(then);
  // What one person was given is not for the next.
  if (before && before.person !== session.person) await wipe();
  const { phone_key: secret, ...known } = session;
  await hold(session.person, secret);
  known.ahead = (asked + Date.now()) / 2 - Date.parse(session.now);
  await put("meta", "me", known);
  return known;
}

async function visits(then) {
  const cursor = await get("meta", "cursor");
  const news = await fetchJson(`/api/visits${cursor ? `?since=${encodeURIComponent(cursor)}` : ""}`);
  stays(then);
  const begun = new Set((await all("drafts")).map((draft) => draft.visit));
  const kept = (await all("visits")).filter((visit) => begun.has(visit.id));
  const states = new Set(news.supervisors.map((one) => one.state));
  const others = news.whole ? [] : ((await get("meta", "supervisors")) ?? []).filter((one) => !states.has(one.state));
  const why = new Map(news.removed.map(({ id, why }) => [id, why]));
  const files = grouped(news.documents), before = await all("documents");
  await change(["visits", "labels", "documents", "files", "meta"], (at) => {
    if (news.whole) at("visits").clear();
    news.removed.forEach(({ id }) => at("visits").delete(id));
    // What is no longer theirs goes; where work was begun it stays, and says so.
    kept.filter((visit) => news.whole || why.has(visit.id)).forEach((visit) => at("visits").put({ ...visit, gone: why.get(visit.id) ?? "somebody-else" }, visit.id));
    news.visits.forEach((visit) => at("visits").put(visit, visit.id));
    news.labels.forEach((label) => at("labels").put(label, label.id));
    list(at, files, before, new Set(kept.flatMap((visit) => visit.doses.map((dose) => dose.label_version))));
    at("meta").put(news.cursor, "cursor");
    at("meta").put(news.company, "company");
    at("meta").put(news.to_sign, "to_sign");
    at("meta").put([...others, ...news.supervisors], "supervisors");
    at("meta").put({ at: Date.now(), heard: true }, "contact");
  });
}

async function once() {
  await endSession();
  if (await get("meta", "leaving")) throw new NoAnswer("the session is still to be ended");
  const then = left, known = await meet(then);
  listener("session");
  await flush(known.person, () => listener("outbox"));
  await visits(then);
  await tidy();
  listener("visits");
  // Not waited for: what somebody did is sent meanwhile.
  fetchAll(() => listener("documents")).catch(() => {});
}

/** Does all of it now; one at a time in all windows. */
export async function sync() {
  if (running) return running;
  running = navigator.locks.request("plantward-sync", async () => {
    try {
      await once();
      silent = 0;
    } catch (reason) {
      if (reason instanceof SignedOut) {
        await wipe();
        silent = 0;
        listener("session");
      } else if (reason instanceof NoAnswer) {
        silent += 1;
        if (await get("meta", "me")) await put("meta", "contact", { ...(await get("meta", "contact")), heard: false });
        listener("outbox");
      } else {
        throw reason;
      }
    }
  }).finally(() => { running = undefined; plan(); });
  return running;
}

/** The next time: when an item's turn has come, and now and then for the visits. */
async function plan() {
  clearTimeout(timer);
  const known = await get("meta", "me");
  const turn = known && (await nextTurn(known.person));
  // While nobody answers, each try waits longer than the one before.
  const soonest = silent ? wait(silent) : 500;
  timer = setTimeout(sync, Math.min(OFTEN, Math.max(soonest, turn === undefined ? OFTEN : turn - Date.now())));
}

addEventListener("online", () => sync());
document.addEventListener("visibilitychange", () => { if (!document.hidden) sync(); });
