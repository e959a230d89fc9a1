// The page: which part is shown, and what is always in sight.
import { refresh } from "./documents.js";
import { h } from "./dom.js";
import { count } from "./outbox.js";
import { show as queue } from "./queue.js";
import { show as stop } from "./stop.js";
import { get, put, wipe } from "./store.js";
import { depart, endSession, listen, me, sync } from "./sync.js";
import { show as visits } from "./visits.js";
import { clock, say, speak } from "./words.js";

const main = document.getElementById("main"), standing = document.getElementById("standing"), top = document.getElementById("top");
let shown = "";

/** How much is still on this phone, and when the server was last heard. */
async function stand() {
  const [{ waiting, refused, photos }, contact, who] = [await count(), await get("meta", "contact"), await me()];
  const words = [
    waiting || photos ? say("standing-waiting", { count: waiting }) : say("standing-none"),
    photos > 0 && say("standing-photos", { count: photos }),
    refused > 0 && say("standing-refused", { count: refused }),
    who && (contact?.heard ? say("heard-at", { at: clock(contact.at, who.time_zone) }) : contact?.at ? say("silent-since", { at: clock(contact.at, who.time_zone) }) : ""),
  ].filter(Boolean).join(" ");
  if (standing.textContent !== words) standing.textContent = words;
}

function frame(who) {
  const door = (hash, words) => h("li", {}, h("a", { href: hash, "aria-current": shown.startsWith(hash.slice(1)) && hash.startsWith("#") ? "page" : null }, words));
  const head = h("div", {},
    h("p", { class: "company" }, who?.company ?? "Plantward"),
    who && h("nav", { "aria-label": say("main-navigation") }, h("ul", {}, door("#visits", say("nav-visits")), door("#outbox", say("nav-outbox")), door("/products", say("nav-products")), door("/account", say("nav-account")))),
    who && h("p", { class: "who" }, h("span", {}, who.name), " ", h("button", { type: "button", class: "plain", onclick: leave }, say("sign-out"))));
  if (head.innerHTML !== top.innerHTML) top.replaceChildren(...head.childNodes);
}

/** Visits and key leave the phone before the session ends; unsent work stays sealed. */
async function leave() {
  const who = await me();
  depart();
  await wipe();
  if (who) await put("meta", "leaving", who.token);
  await endSession();
  await draw();
}

async function part(who) {
  if (!who) {
    const left = await count();
    return [
      h("div", { class: "head" }, h("h1", { tabindex: -1 }, say("signed-out"))),
      h("p", {}, left.waiting + left.refused ? say("signed-out-held", { count: left.waiting + left.refused }) : say("signed-out-words")),
      h("p", {}, h("a", { class: "button", href: "/sign-in?next=/field" }, say("sign-in"))),
    ];
  }
  if (shown.startsWith("stop-")) return stop(who, shown.slice(5), () => { location.hash = "#visits"; sync(); });
  return shown === "outbox" ? queue(who, draw) : visits(who);
}

let drawing = Promise.resolve();

/** Shows what the address asks for. A new part begins at its heading. */
function draw() {
  drawing = drawing.then(async () => {
    const hash = location.hash.slice(1) || "visits", asked = hash === "main" && shown ? shown : hash;
    const who = await me(), fresh = asked !== shown;
    shown = asked;
    await speak(who?.language ?? localStorage.getItem("language") ?? (navigator.language.startsWith("es") ? "es" : "en"));
    const focused = document.activeElement?.id, body = h("div", {}, await part(who));
    frame(who);
    // What is the same stays: a tap that is under way is not lost.
    if (fresh || body.innerHTML !== main.innerHTML) main.replaceChildren(...body.childNodes);
    document.title = `${main.querySelector("h1")?.textContent ?? ""} | ${who?.company ?? "Plantward"}`;
    document.getElementById("foot").textContent = say("foot");
    document.getElementById("skip").textContent = say("skip-to-main");
    if (fresh) { scrollTo(0, 0); main.querySelector("h1")?.focus({ preventScroll: true }); }
    else if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
    await stand();
    document.body.dataset.ready = shown;
  });
  return drawing;
}

listen(async (what) => {
  if (what === "documents" && shown.startsWith("stop-")) return refresh(main);
  await stand();
  // A stop that somebody is writing in is not drawn anew under their hands.
  const writes = shown.startsWith("stop-") && (await me());
  if (!writes || (what === "session" && !document.body.dataset.ready)) draw();
  else if (what === "visits" && main.querySelector("#not-here")) draw();
});

addEventListener("hashchange", () => { if (location.hash !== "#main") draw(); });
if (navigator.serviceWorker) navigator.serviceWorker.register("/field-worker.js", { scope: "/field", updateViaCache: "none" });
navigator.storage?.persist?.();
await draw();
sync();
