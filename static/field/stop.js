// One stop: what to know, what to confirm, the plants, and the end of it.
import { rest, waiting } from "./caps.js";
import { shelf } from "./documents.js";
import { badge, choice, h, part, phone } from "./dom.js";
import { faults, finish, lacks, load, save } from "./draft.js";
import { card } from "./plant.js";
import { drop, keep, release } from "./photos.js";
import { all, get } from "./store.js";
import { unit } from "./dose.js";
import { down, plain } from "./exact.js";
import { deadline, owed } from "./visits.js";
import { clock, day, local, say } from "./words.js";

const pairs = (prefix, codes) => codes.map((code) => [code, say(`${prefix}-${code}`)]);
const WINDS = ["calm", "N", "NE", "E", "SE", "S", "SW", "W", "NW"];

const label = (l, papers) => h("div", { class: "caution" },
  h("h2", {}, `${l.product}${l.signal_word ? `: ${l.signal_word}` : ""}`),
  h("p", { class: "soft" }, say("label-line", { number: l.registration_number, version: l.number }), l.restricted && `, ${say("restricted-use")}`),
  !l.signed && h("p", {}, badge("flag", say("label-unsigned"))),
  // As the signed label gives it: in its own language.
  l.clothing && h("p", {}, h("strong", {}, say("wear")), " ", h("span", { lang: "en" }, l.clothing)),
  l.precautions && h("p", {}, h("strong", {}, say("precautions")), " ", h("span", { lang: "en" }, l.precautions)),
  l.first_aid && h("details", {}, h("summary", {}, say("first-aid")), h("p", { lang: "en" }, l.first_aid)),
  papers);

function arrival(visit, labels, papers, company) {
  const site = visit.site, fact = (words, value) => value && [h("dt", {}, words), h("dd", {}, value)];
  return [
    site.access_note && h("div", { class: "notice" }, h("p", {}, h("strong", {}, say("way-in")), " ", site.access_note)),
    h("p", {}, site.customer_name, site.customer_phone && [": ", phone(site.customer_phone)]),
    h("dl", { class: "facts" },
      fact(say("hours"), site.hours.length ? site.hours.join("; ") : say("hours-none")),
      fact(say("water"), site.water_distance_ft === null ? say("water-unknown") : say("feet-away", { feet: site.water_distance_ft }))),
    visit.note && h("p", { class: "lines" }, visit.note),
    labels.map((one, at) => label(one, papers[at])),
    h("h2", {}, say("emergency")),
    h("dl", {},
      fact(say("emergency-place"), site.emergency_place || say("none-entered")),
      fact(say("poison-centre"), company.poison_center_phone ? phone(company.poison_center_phone) : say("none-entered")),
      fact(company.name, company.emergency_phone ? phone(company.emergency_phone) : company.phone && phone(company.phone))),
  ];
}

/** Notices and signs by law, as they stood at the last contact. */
function duties(visit) {
  const all = visit.duties ?? [];
  const standing = (one) => (one.settled ? badge("done", say("duty-done")) : one.holds ? badge("held", say("duty-holds")) : badge("due", say("duty-open")));
  const line = (one) => h("li", {},
    h("p", {}, h("strong", {}, say(`duty-${one.kind}`)), " ", standing(one)),
    h("p", {}, `${one.words}.`, one.by && ` ${say("duty-by", { day: one.by })}`), one.sign && h("p", {}, one.sign),
    h("p", { class: "soft" }, one.source, !one.verified && `, ${say("duty-unverified")}`, ". ", say("duty-live-rule")));
  const first = all.filter((one) => one.holds);
  return all.length ? [
    h("h2", {}, say("duty-title")),
    first.map((one) => h("div", { class: "caution" }, h("h3", {}, say("duty-do-not-begin")), h("p", {}, say(`duty-${one.kind}`), one.from && `. ${say("duty-late", { day: one.from })}`))),
    h("ul", { class: "ways" }, all.map(line)),
    h("p", { class: "soft" }, say("duty-on-phone"), " ", h("a", { href: `/visits/${visit.id}#duties` }, say("duty-visit-page")), "."),
  ] : null;
}

function neighbours(visit, draft, changed, zone) {
  const list = h("ul", {}), wanted = h("ul", {}), who = h("input", { autocomplete: "off" });
  const named = (one) => (one.address ? `${one.name}, ${one.address}` : one.name);
  const tell = (words) => {
    draft.neighbours.push({ who: words, at: new Date().toISOString() });
    changed();
    draw();
  };
  const draw = () => {
    list.replaceChildren(...draft.neighbours.map((told, at) => h("li", {},
      badge("done", say("told-at", { who: told.who, at: clock(told.at, zone) })), " ",
      h("button", { type: "button", class: "plain", onclick: () => { draft.neighbours.splice(at, 1); changed(); draw(); who.focus(); } }, say("take-back", { what: told.who })))));
    // Those that the office has listed: nobody is told until somebody says so.
    const left = (visit.site.neighbours ?? []).filter((one) => !draft.neighbours.some((told) => told.who === named(one)));
    wanted.replaceChildren(...left.map((one) => h("li", {}, h("strong", {}, named(one)), one.phone && [" ", phone(one.phone)], one.note && h("p", {}, one.note),
      h("button", { type: "button", class: "second tap", onclick: () => { tell(named(one)); who.focus(); } }, say("neighbour-told"), h("span", { class: "quiet-label" }, `: ${one.name}`)))));
  };
  draw();
  const add = () => {
    if (!who.value.trim()) return who.focus();
    tell(who.value.trim());
    who.value = "";
  };
  return [
    h("h2", {}, say("neighbours")),
    visit.site.notice_hours !== null && h("div", { class: "notice" }, h("p", {}, say("notice-hours", { count: visit.site.notice_hours }), " ", visit.site.notice_reason)),
    wanted, list, part("neighbour", say("neighbour-who"), who), h("button", { type: "button", class: "second tap", onclick: add }, say("neighbour-told")),
  ];
}

function ground(visit, draft, changed, zone, redraw) {
  const site = draft.site, begun = draft.stop.started_at;
  const list = (id, prefix, codes) => part(id, say(id), choice(site[id], say("not-confirmed"), pairs(prefix, codes), (v) => { site[id] = v; changed(); }));
  const field = (id, hint, mode = "decimal") => part(id, say(id), h("input", { inputmode: mode, autocomplete: "off", class: "short", value: site[id] ?? "", oninput: (e) => { site[id] = e.target.value; changed(); } }), hint);
  const begin = (found) => () => {
    Object.assign(site, found);
    draft.stop.started_at = local(Date.now(), zone).time;
    changed();
    redraw("begun");
  };
  const inject = visit.doses.some((dose) => dose.method === "soil-injection");
  return [
    h("h2", {}, say("found-here")),
    inject && h("div", { class: "caution" }, h("p", {}, h("strong", {}, say("ticket-first")))),
    inject && field("utility_ticket", say("utility-hint"), "text"),
    begun ? h("p", { id: "begun", tabindex: -1 }, badge("done", say("begun-at", { at: clock(`2000-01-01T${begun}Z`, "UTC") })))
      : [h("button", { type: "button", class: "second tap", onclick: begin({ bloom: "none", soil: "moist", rain: "none" }) }, say("begin-clear")),
        h("button", { type: "button", class: "second tap", onclick: begin({}) }, say("begin-other"))],
    h("details", { open: Boolean(begun) && !(site.bloom && site.soil && site.rain) }, h("summary", {}, say("found-more")),
      list("bloom", "bloom", ["none", "some", "full"]), list("soil", "soil", ["dry", "moist", "saturated", "frozen"]),
      list("rain", "rain", ["none", "expected", "falling"]), list("slope", "slope", ["flat", "gentle", "steep"]),
      field("water_distance_ft", say("in-feet")), field("well_distance_ft", say("in-feet")), !inject && field("utility_ticket", say("utility-hint"), "text"),
      part("signs", say("signs"), h("input", { inputmode: "numeric", autocomplete: "off", class: "short", value: draft.signs, oninput: (e) => { draft.signs = e.target.value; changed(); } }))),
    draft.site.soil === "saturated" || draft.site.soil === "frozen" ? h("div", { class: "errors" }, h("p", {}, say("soil-stops"))) : null,
  ];
}

function ending(visit, draft, changed, asked, supervisors) {
  const stop = draft.stop, words = (id) => (asked.has(id) ? say("asked-by-rule", { what: say(id) }) : say(id));
  const field = (into, id, more = {}, hint = "") => part(id, words(id), h(more.rows ? "textarea" : "input", { autocomplete: "off", value: into[id] ?? "", oninput: (e) => { into[id] = e.target.value; changed(); }, ...more }), hint);
  const products = [...new Set(visit.doses.map((dose) => dose.product))];
  const weather = [
    part("wind_direction", words("wind_direction"), choice(stop.wind_direction, say("not-noted"), pairs("wind", WINDS), (v) => { stop.wind_direction = v; changed(); })),
    field(stop, "wind_mph", { inputmode: "decimal", class: "short" }), field(stop, "temperature_f", { inputmode: "text", class: "short" }),
  ];
  const wanted = ["wind_direction", "wind_mph", "temperature_f"].some((name) => asked.has(name));
  return [
    h("h2", {}, say("the-stop")),
    products.map((product, at) => part(`lot-${at}`, say("lot-of", { product }), h("input", { autocomplete: "off", value: draft.lots[product] ?? "", oninput: (e) => { draft.lots[product] = e.target.value; changed(); } }))),
    wanted && weather,
    !visit.certified && part("supervisor", say("supervisor"), choice(stop.supervisor ?? visit.supervisor ?? "", say("nobody"),
      supervisors.filter((s) => s.state === visit.site.state).map((s) => [s.id, `${s.name}, ${s.number}`]), (v) => { stop.supervisor = v; changed(); }), say("supervisor-hint")),
    h("details", {}, h("summary", {}, say("stop-more")),
      field(stop, "started_at", { type: "time", step: 1, class: "short" }), field(stop, "finished_at", { type: "time", step: 1, class: "short" }, say("finished-hint")),
      !wanted && weather,
      field(draft, "beneficials"), field(draft, "pests"), field(draft, "note", { rows: 3 })),
  ];
}

function pictures(me, draft, changed) {
  const list = h("ul", {}), said = h("p", { role: "status" });
  const draw = () => list.replaceChildren(...draft.photos.map((id, at) => h("li", {}, say("photo", { number: at + 1 }), " ",
    h("button", { type: "button", class: "plain", onclick: async () => { draft.photos.splice(at, 1); changed(); await drop(id); draw(); } }, say("take-back", { what: say("photo", { number: at + 1 }) })))));
  draw();
  const input = h("input", { type: "file", accept: "image/*", capture: "environment", onchange: async () => {
    const [file] = input.files;
    if (!file) return;
    try {
      draft.photos.push(await keep(me.person, draft.visit, file));
      said.textContent = "";
      changed();
      draw();
    } catch {
      said.textContent = say("photo-unreadable");
    }
    input.value = "";
  } });
  return [part("photo", say("photo-take"), input, say("photo-hint")), said, list];
}

/** The whole page of a stop; none where it is not on the phone. */
export async function show(me, id, leave) {
  const visit = await get("visits", id);
  if (!visit) return [h("div", { class: "head" }, h("h1", { id: "not-here", tabindex: -1 }, say("not-here"))), h("p", {}, h("a", { href: "#visits" }, say("nav-visits")))];
  const [company, supervisors, contact] = await Promise.all([get("meta", "company"), get("meta", "supervisors"), get("meta", "contact")]);
  const draft = await load(me.person, id), named = new Set(visit.doses.map((dose) => dose.label_version));
  const labels = (await all("labels")).filter((one) => named.has(one.id));
  const papers = await Promise.all(labels.map((one) => shelf(one.id)));
  const here = (await all("outbox")).find((item) => item.visit === id && item.state !== "refused");
  const changed = () => save(me.person, draft), asked = new Set(visit.asked.map((one) => one.field));
  const site = visit.site, head = h("div", { class: "head" }, h("div", {}, h("h1", { tabindex: -1 }, site.street),
    h("p", { class: "lead" }, `${site.city}, ${site.state} ${site.zip}. ${day(visit.on)}`)));
  const today = local(Date.now() - (me.ahead ?? 0), me.time_zone).day, wanted = visit.record_by && owed(visit, here?.state, today);
  const top = [head, wanted && h("p", { class: "soft" }, deadline(visit.record_by, today)), visit.gone && h("div", { class: "errors" }, h("p", {}, say(`gone-${visit.gone}`), " ", say("gone-words"))), arrival(visit, labels, papers, company ?? {})];
  const waits = await waiting(visit), beside = (cap) => { const free = rest(visit, draft, cap, waits); return plain(free.n > 0n ? down(free, 100n) : { n: 0n, d: 1n }); };
  const caps = visit.caps.length ? [h("h2", {}, say("caps-left")), h("ul", {}, visit.caps.map((cap) => h("li", {}, cap.room === null ? say("cap-unchecked", { name: cap.ingredient }) : say("cap-of", { name: cap.ingredient, left: `${beside(cap)} ${unit(cap.unit)}` }), cap.unconfirmed && ` ${say("cap-unconfirmed")}`)))] : [];
  if (here || visit.status === "done") return [...top, ...caps, h("p", {}, badge("done", say(here ? "finished-here" : "state-done"))), h("p", {}, h("a", { href: "#outbox" }, say("nav-outbox")))];

  const context = { visit, draft, changed, asked, zone: me.time_zone, contact: contact?.at, waiting: waits, caps: [] };
  const found = h("div", {}), wrong = h("div", {});
  const redraw = (focus) => {
    found.replaceChildren(...h("div", {}, ground(visit, draft, changed, me.time_zone, redraw)).childNodes);
    if (focus) document.getElementById(focus)?.focus();
  };
  redraw();

  function complain(list, title, more = []) {
    document.querySelectorAll("[aria-invalid]").forEach((e) => e.removeAttribute("aria-invalid"));
    const line = ([to, words]) => h("li", {}, h("a", { href: `#${to}`, onclick: (e) => { e.preventDefault(); jump(to); } }, words));
    const box = h("div", { class: "errors", role: "alert", tabindex: -1 }, h("h2", {}, title), h("ul", {}, list.map(line)), more);
    wrong.replaceChildren(box);
    list.forEach(([to]) => { const at = document.getElementById(to); if (at?.matches("input, select, textarea")) at.setAttribute("aria-invalid", "true"); });
    box.focus();
  }

  function jump(to) {
    const at = document.getElementById(to);
    at?.closest("details")?.setAttribute("open", "");
    at?.focus();
  }

  const name = (to) => {
    const dose = /-(\d+)$/.exec(to);
    return dose && visit.doses[dose[1]] && !to.startsWith("lot") ? `${visit.doses[dose[1]].host_plant}, ${visit.doses[dose[1]].place}` : say(to);
  };

  async function end(anyway) {
    const bad = faults(visit, draft).map(([to, why]) => [to, `${name(to)}: ${say(why)}`]);
    if (bad.length) return complain(bad, say("not-finished"));
    const gaps = anyway ? [] : lacks(visit, draft).map(([to, field]) => [to, /-\d+$/.test(to) ? `${name(to)}: ${say(field)}` : say(field)]);
    if (gaps.length) return complain(gaps, say("rule-wants"), h("button", { type: "button", class: "second tap", onclick: () => end(true) }, say("finish-anyway")));
    await finish(me, visit, draft);
    await release(draft.photos);
    leave();
  }

  return [
    ...top, duties(visit), neighbours(visit, draft, changed, me.time_zone), found,
    h("h2", {}, say("plants-title")), visit.doses.map((dose, at) => card(dose, at, context)), ...caps,
    ending(visit, draft, changed, asked, supervisors ?? []), pictures(me, draft, changed), wrong,
    h("div", { class: "actions" }, h("button", { type: "button", id: "finish", onclick: () => end(false) }, say("finish-as", { name: me.name }))),
    h("p", { class: "soft" }, say("finish-words")),
  ];
}

