// Unsent work is sealed (AES-GCM, 256 bits) with a key of its person. The server keeps the key's secret and
// gives it to that person's sessions alone; the phone holds it, not extractable, while they are signed in.
import { get, put } from "./store.js";

/** Takes up a person's key for this session. */
export async function hold(person, secret) {
  const bytes = Uint8Array.from(atob(secret), (c) => c.charCodeAt(0));
  await put("keys", person, await crypto.subtle.importKey("raw", bytes, "AES-GCM", false, ["encrypt", "decrypt"]));
}

/** Whether what this person sealed can be opened here. */
export const holds = async (person) => Boolean(await get("keys", person));

/** Bytes, or anything that JSON can write. */
export async function seal(person, value) {
  const key = await get("keys", person);
  if (!key) throw new Error("no key of this person");
  const bytes = value instanceof ArrayBuffer ? value : new TextEncoder().encode(JSON.stringify(value));
  const iv = crypto.getRandomValues(new Uint8Array(12));
  return { iv, bytes: await crypto.subtle.encrypt({ name: "AES-GCM", iv }, key, bytes) };
}

export async function openBytes(person, sealed) {
  const key = await get("keys", person);
  return key && crypto.subtle.decrypt({ name: "AES-GCM", iv: sealed.iv }, key, sealed.bytes);
}

/** What was sealed; null where the person's key is not here. */
export async function open(person, sealed) {
  const bytes = await openBytes(person, sealed);
  return bytes ? JSON.parse(new TextDecoder().decode(bytes)) : null;
}
