// The days with their stops in order.
import { standing } from "./documents.js";
import { badge, h } from "./dom.js";
import { byVisit } from "./outbox.js";
import { all, get } from "./store.js";
import { clock, day, local, say } from "./words.js";

const inOrder = (a, b) => (a.stop_number ?? 999) - (b.stop_number ?? 999) || (a.arrives_at ?? "").localeCompare(b.arrives_at ?? "") || a.id.localeCompare(b.id);

/** Under their headings: today first, then what was not recorded, then the days to come. */
export function byDay(visits, today) {
  const groups = new Map();
  const rank = (visit) => (visit.on === today ? `0` : visit.on < today ? `1` : `2${visit.on}`);
  for (const visit of visits.filter((v) => v.status !== "cancelled")) groups.set(rank(visit), [...(groups.get(rank(visit)) ?? []), visit]);
  return [...groups.entries()].sort(([a], [b]) => a.localeCompare(b)).map(([, held]) => held.sort((a, b) => a.on.localeCompare(b.on) || inOrder(a, b)));
}

export function state(visit, here, begun, today) {
  if (here === "accepted") return badge("done", say("state-accepted"));
  if (here === "sent") return badge("soon", say("state-sent"));
  if (here === "waiting") return badge("due", say("state-waiting"));
  if (here === "refused") return badge("flag", say("state-refused"));
  if (visit.gone) return badge("flag", say(`gone-${visit.gone}`));
  if (visit.status === "done") return badge("done", say("state-done"));
  if (begun) return badge("due", say("state-begun"));
  return visit.on < today ? badge("late", say("not-recorded")) : null;
}

/** The days that are left for a record, in words. */
export function left(by, today) {
  const count = Math.round((Date.parse(by.day) - Date.parse(today)) / 86_400_000);
  return say(count < 0 ? "record-late" : "record-left", { count: Math.abs(count), day: day(by.day) });
}

/** The same with the rule that counts them. */
export const deadline = (by, today) =>
  `${left(by, today)} ${by.source ? say(by.verified ? "record-rule" : "record-rule-unverified", { source: by.source }) : say("record-rule-own")}`;

/** Whether the visit's day has come and the server has no record of it. */
export const owed = (visit, here, today) => visit.status === "booked" && visit.on <= today && here !== "accepted";

const time = (text) => clock(`2000-01-01T${text}Z`, "UTC");

export async function show(me) {
  const today = local(Date.now() - (me.ahead ?? 0), me.time_zone).day;
  const [visits, states, drafts] = [await all("visits"), await byVisit(), await all("drafts")];
  const begun = new Set(drafts.filter((d) => d.person === me.person).map((d) => d.visit));
  const title = (on) => (on === today ? say("today") : on < today ? say("not-recorded") : day(on));
  const line = (visit) => h("li", {},
    h("a", { href: `#stop-${visit.id}`, id: `to-${visit.id}` }, h("span", {}, h("strong", {}, visit.site.street), `, ${visit.site.city}`)),
    h("span", { class: "soft" },
      [visit.on < today && day(visit.on), visit.arrives_at && time(visit.arrives_at), say("plants", { count: visit.doses.length }), visit.site.customer_name].filter(Boolean).join(", ")),
    state(visit, states.get(visit.id), begun.has(visit.id), today),
    visit.record_by && owed(visit, states.get(visit.id), today) && h("span", { class: "soft" }, left(visit.record_by, today)));
  const groups = byDay(visits, today), papers = await standing(), toSign = (await get("meta", "to_sign")) ?? [];
  return [
    h("div", { class: "head" }, h("h1", { tabindex: -1 }, say("nav-visits"))),
    groups.length ? groups.map((held) => [h("h2", {}, title(held[0].on)), h("ul", { class: "stops" }, held.map(line))])
      : h("div", { class: "empty" }, h("h2", {}, say("visits-none")), h("p", {}, say("visits-none-words"))),
    toSign.length > 0 && [h("h2", {}, say("to-sign")), h("ul", { class: "stops" }, toSign.map((one) => h("li", {},
      h("a", { href: `/records/${one.record}` }, h("span", {}, h("strong", {}, one.address), `, ${day(one.on)}`)),
      h("span", { class: "soft" }, deadline(one.by, today)))))],
    papers && h("p", { class: "soft" }, papers),
  ];
}
