// Texts in the person's language, from the files that the server's pages are written in.

let texts = {}, rules = new Intl.PluralRules("en"), language = "en";

/** Reads the texts of a language; what could not be fetched stays as it is. */
export async function speak(code) {
  const link = document.querySelector(`link[data-texts="${code}"]`);
  if (!link || (code === language && Object.keys(texts).length)) return;
  const answer = await fetch(link.href);
  if (!answer.ok) return;
  texts = await answer.json();
  language = code;
  rules = new Intl.PluralRules(code);
  document.documentElement.lang = code;
  localStorage.setItem("language", code);
}

/** The text of that name with its values. */
export function say(name, values = {}) {
  let text = texts[name] ?? name;
  if (typeof text === "object") {
    const count = values[text.by];
    text = text[count] ?? text[rules.select(Number(count))] ?? text.other;
  }
  // A value may end in a full stop of its own: 8:02 a.m.
  return text.replace(/\{(\w+)\}/g, (_, key) => values[key] ?? "").replace(/\.\.(?=\s|$)/g, ".");
}

/** Whether there is such a text. */
export const knows = (name) => name in texts;

/** A day as people write it: Nov 25, 2026. */
export function day(iso) {
  const [year, month, date] = iso.split("-").map(Number);
  return say("date", { year, month: say(`month-${month}`), day: date });
}

/** A time of day: 9:05 AM. */
export function clock(at, zone) {
  return new Intl.DateTimeFormat(language === "es" ? "es-US" : "en-US", { hour: "numeric", minute: "2-digit", timeZone: zone }).format(new Date(at));
}

/** `HH:MM:SS` and `YYYY-MM-DD` of a moment in a time zone, as the interface takes them. */
export function local(at, zone) {
  const parts = {};
  const format = new Intl.DateTimeFormat("en-CA", { timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" });
  for (const { type, value } of format.formatToParts(new Date(at))) parts[type] = value;
  return { day: `${parts.year}-${parts.month}-${parts.day}`, time: `${parts.hour}:${parts.minute}:${parts.second}` };
}
