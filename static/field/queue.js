// What is on this phone, sent, accepted; and what deserves a look, with what to do.
import { badge, h } from "./dom.js";
import { again, drop, items, opened, takeOver } from "./outbox.js";
import { all } from "./store.js";
import { sync } from "./sync.js";
import { clock, day, knows, say } from "./words.js";

const KIND = { waiting: "due", sent: "soon", accepted: "done", refused: "flag" };
const STATE = { waiting: "state-waiting", sent: "state-sent", accepted: "state-accepted", refused: "state-refused" };

/** A note in the person's language. */
function note(one) {
  const known = knows(`note-${one.code}`);
  return h("li", {}, known && h("strong", {}, say(`note-${one.code}`)), known && " ", one.words, " ",
    knows(`do-${one.code}`) ? say(`do-${one.code}`) : one.to_do);
}

async function item(one, me, redraw) {
  const held = one.person === me?.person ? await opened(one) : null;
  if (!held) {
    return h("li", { class: "card", "data-id": one.id }, h("p", {}, badge("held", say("locked"))), h("p", {}, say("locked-words")),
      me?.role === "owner" && h("button", { type: "button", class: "second tap", onclick: async () => { await takeOver(me.person, one.person); await sync(); redraw(); } }, say("locked-open")));
  }
  const button = (words, act) => h("button", { type: "button", class: "second tap", onclick: async () => { await act(); await redraw(); sync(); } }, words);
  return h("li", { class: "card", "data-id": one.id },
    h("p", {}, h("strong", {}, held.title.street), `, ${day(held.title.on)}`), h("p", {}, badge(KIND[one.state], say(STATE[one.state]))),
    one.state === "waiting" && one.tries > 0 && h("p", { class: "soft" }, say("tried", { count: one.tries, at: clock(one.next, me.time_zone) })),
    held.kept && h("p", {}, say("kept-words")),
    held.notes.length > 0 && h("ul", {}, held.notes.map(note)),
    one.state === "accepted" && held.record && h("p", {}, h("a", { href: `/records/${held.record}` }, say("see-record"))),
    one.state === "accepted" && !one.quiet && button(say("seen"), () => drop(one.id)),
    one.state === "refused" && button(say("try-again"), () => again(one)));
}

export async function show(me, redraw) {
  const held = await items(), photos = await all("photos"), bad = photos.filter((p) => p.state === "refused"), waiting = photos.length - bad.length;
  const lines = [];
  for (const one of held) lines.push(await item(one, me, redraw));
  return [
    h("div", { class: "head" }, h("h1", { tabindex: -1 }, say("nav-outbox"))),
    lines.length ? h("ul", { class: "queue" }, lines) : h("div", { class: "empty" }, h("h2", {}, say("outbox-none")), h("p", {}, say("outbox-none-words"))),
    waiting > 0 && h("p", {}, badge("due", say("photos-waiting", { count: waiting }))),
    bad.length > 0 && h("p", {}, badge("flag", say("photos-refused", { count: bad.length }))),
    h("p", { class: "soft" }, say("outbox-words")),
  ];
}
