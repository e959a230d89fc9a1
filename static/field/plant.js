// One plant of a stop: what to pour, and what became of it. One tap where it was done as planned, a second for
// the water where a rule asks for it.
import { badge, h, part } from "./dom.js";
import { left, taken } from "./caps.js";
import { amount, follows, offers, pour, tape, unit, water } from "./dose.js";
import { keyOf } from "./draft.js";
import { compare, down, plain, read } from "./exact.js";
import { clock, knows, say } from "./words.js";

const REASONS = ["reason-bloom", "reason-wet", "reason-gate", "reason-gone"];
const NAMES = { "height-ft": "height", "diameter-in": "diameter", "circumference-in": "girth" };
export const method = (code) => (knows(`method-${code}`) ? say(`method-${code}`) : code);

/** `changed` keeps the draft; `asked` are the fields that a rule wants; `contact` is when the cap was known. */
export function card(dose, at, context) {
  const done = (context.draft.plants[keyOf(dose)] ??= {});
  const box = h("div", { class: "card", role: "group", id: `plant-${at}`, tabindex: -1, "aria-labelledby": `plant-${at}-name` });
  const follow = h("div", { "aria-live": "polite" }), taps = h("div", {}), cap = h("div", { "aria-live": "polite" });

  function set(values, focus) {
    Object.assign(done, values);
    context.changed();
    // What one plant takes, its neighbours cannot.
    context.caps.forEach((warn) => warn());
    if (focus !== undefined) draw(focus);
  }

  function choose(did) {
    // A second tap takes it back.
    set({ did: done.did === did ? undefined : did }, did);
  }

  const button = (did, words) =>
    h("button", { type: "button", class: "second tap", "data-did": did, "aria-pressed": String(done.did === did), onclick: () => choose(did) }, words);

  const typedInto = (id, name, words, unitWords, hint, more = () => {}) => part(`${id}-${at}`, words,
    h("input", { inputmode: "decimal", autocomplete: "off", class: "short", value: done[name] ?? "", oninput: (e) => { set({ [name]: e.target.value }); more(); } }),
    [unitWords, hint].filter(Boolean).join(". "));

  function worked() {
    const measure = read(done.measure ?? ""), poured = read(done.amount ?? "");
    follow.replaceChildren();
    offered();
    const anew = follows(dose) && measure?.n;
    if (!anew && !poured?.n) return;
    const at = anew ? measure : read(dose.measure), dosed = amount(dose, at);
    if (anew) {
      follow.append(h("p", {}, say("new-dose"), " ", h("span", { class: "pour" }, pour(dosed, dose.unit))));
      const wet = water(dose, at);
      if (wet) follow.append(h("p", {}, say("water-words", { said: wet })));
    }
    if (poured?.n && outside(poured, at)) follow.append(h("div", { class: "errors" }, h("p", {}, h("strong", {}, say("outside-band", band())))));
  }

  const band = () => ({ low: plain(read(dose.rate_low)), high: plain(read(dose.rate_high)), unit: unit(dose.unit), per: per() });
  const per = () => [dose.rate_per && compare(read(dose.rate_per), read("1")) ? plain(read(dose.rate_per)) : "", tape(dose.measure_basis) || say("one-plant")].filter(Boolean).join(" ");
  /** What the caps leave beside everything else here, and whether this plant gets more. */
  function warn() {
    const free = done.did === "skipped" ? null : left(context.visit, context.draft, dose, context.waiting);
    if (free === null) return cap.replaceChildren();
    const values = { left: `${plain(down(free.n > 0n ? free : { n: 0n, d: 1n }, 100n))} ${unit(dose.unit)}`, at: context.contact ? clock(context.contact, context.zone) : "" };
    const more = compare(taken(dose, done), free) > 0;
    const fresh = more ? h("div", { class: "errors" }, h("p", {}, h("strong", {}, say("over-cap", values)))) : h("p", { class: "soft" }, say("cap-left", values));
    if (cap.innerHTML !== fresh.outerHTML) cap.replaceChildren(fresh);
  }

  function outside(value, measure) {
    const at = (rate) => amount({ ...dose, rate }, measure);
    return compare(value, at(dose.rate_low)) < 0 || compare(value, at(dose.rate_high)) > 0;
  }

  function offered() {
    const measure = done.did === "measured" ? read(done.measure ?? "") : read(dose.measure);
    taps.replaceChildren(...offers(dose, measure?.n ? measure : read(dose.measure)).map((one) => {
      const chosen = plain(one.cups);
      return h("button", { type: "button", class: "second tap", "data-did": `water-${chosen}`, "aria-pressed": String(done.water === chosen),
        onclick: () => set({ water: done.water === chosen ? "" : chosen }, `water-${chosen}`) }, say("water-words", { said: one.words }));
    }));
  }

  function waters() {
    offered();
    return [taps, typedInto("water", "water", say(context.asked.has("water") ? "water-poured-asked" : "water-poured"), say("in-cups"), "", offered)];
  }

  function more() {
    if (done.did === "measured") {
      worked();
      return [
        follows(dose) && typedInto("measure", "measure", say(NAMES[dose.measure_basis] ?? "ground"), tape(dose.measure_basis), say("measure-planned", { said: plain(read(dose.measure)) }), worked),
        follow,
        typedInto("amount", "amount", say("poured-instead"), unit(dose.unit), say(follows(dose) ? "poured-hint" : "poured-pieces"), worked),
        waters(),
      ];
    }
    if (done.did === "planned") return waters();
    if (done.did !== "skipped") return [];
    return [
      h("div", { class: "taps" }, REASONS.map((name) => h("button", { type: "button", class: "second tap", "data-did": name,
        "aria-pressed": String(done.reason === say(name)), onclick: () => set({ reason: say(name) }, name) }, say(name)))),
      part(`reason-${at}`, say("why-not"), h("input", { autocomplete: "off", value: done.reason ?? "", oninput: (e) => set({ reason: e.target.value }) })),
    ];
  }

  function draw(focus) {
    const measure = read(dose.measure), wet = water(dose, measure);
    box.replaceChildren(...h("div", {},
      h("h3", { id: `plant-${at}-name` }, `${dose.host_plant}, ${dose.place}`),
      h("p", { class: "soft" }, tape(dose.measure_basis) ? say("plant-about", { count: dose.count, said: `${plain(measure)} ${tape(dose.measure_basis)}` }) : say("plants", { count: dose.count }), dose.target_pest && say("against", { pest: dose.target_pest })),
      dose.plant_note && h("p", {}, badge("held", dose.plant_note)),
      h("p", { class: "pour" }, pour(read(dose.amount), dose.unit)),
      h("p", {}, say("of-product", { product: dose.product, method: method(dose.method) })),
      wet && h("p", {}, say("water-words", { said: wet })),
      cap,
      button("planned", say("did-planned")), button("measured", say("did-measured")), button("skipped", say("did-skipped")),
      more()).childNodes);
    if (focus) box.querySelector(`[data-did="${focus}"]`)?.focus({ preventScroll: true });
  }

  context.caps.push(warn);
  draw();
  warn();
  return box;
}
