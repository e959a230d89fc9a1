// Labels and safety data sheets as files: fetched after the visits, one after the other, and checked by their
// hash. Nothing waits for them. The worker opens them where there is no signal.
import { h } from "./dom.js";
import { NoAnswer, fetchBytes } from "./server.js";
import { all, change, get, keys } from "./store.js";
import { say } from "./words.js";

const KINDS = ["label", "safety-data-sheet"];

/** The files of an answer by id, with the label versions that each belongs to. */
export function grouped(named) {
  const files = new Map();
  for (const { id, label_version: label, ...rest } of named) {
    const file = files.get(id) ?? { id, ...rest, labels: [] };
    file.labels.push(label);
    files.set(id, file);
  }
  return files;
}

/** Keeps the list of what is needed, and lets go of every other file. `still` are label versions of work begun
 *  that the answer no longer names. */
export function list(at, files, before, still) {
  const covered = new Set([...files.values()].flatMap((file) => file.labels.map((label) => label + file.kind)));
  for (const file of before) {
    if (!files.has(file.id) && file.labels.some((label) => still.has(label) && !covered.has(label + file.kind))) files.set(file.id, file);
  }
  at("documents").clear();
  files.forEach((file) => at("documents").put(file, file.id));
  const held = at("files").getAllKeys();
  held.onsuccess = () => held.result.filter((id) => !files.has(id)).forEach((id) => at("files").delete(id));
}

const hex = (bytes) => Array.from(new Uint8Array(bytes), (b) => b.toString(16).padStart(2, "0")).join("");

async function bring(file) {
  const bytes = await fetchBytes(`/api/documents/${file.id}`);
  if (!bytes || hex(await crypto.subtle.digest("SHA-256", bytes)) !== file.sha256) return;
  // Whoever left meanwhile has taken the list along: then nothing is kept.
  await change(["documents", "files"], (at) => {
    const asked = at("documents").get(file.id);
    asked.onsuccess = () => { if (asked.result) at("files").put(bytes, file.id); };
  });
}

/** Fetches what is not here yet, one file at a time in all windows; `changed` hears of each. */
export function fetchAll(changed) {
  return navigator.locks.request("plantward-documents", { ifAvailable: true }, async (lock) => {
    if (!lock) return;
    const held = new Set(await keys("files"));
    for (const file of (await all("documents")).filter((one) => !held.has(one.id)).sort((a, b) => a.bytes - b.bytes)) {
      try {
        await bring(file);
      } catch (reason) {
        if (reason instanceof NoAnswer) return;
        throw reason;
      }
      changed();
    }
  });
}

const size = (bytes) => (bytes < 1 << 20 ? `${Math.ceil(bytes / 1024)} KB` : `${Math.ceil(bytes / (1 << 20) * 10) / 10} MB`);

async function lines(label) {
  const held = new Set(await keys("files")), files = (await all("documents")).filter((file) => file.labels.includes(label));
  return KINDS.map((kind) => {
    const file = files.find((one) => one.kind === kind);
    if (!file) return h("p", { class: "soft" }, say(`paper-none-${kind}`));
    const values = { size: size(file.bytes) };
    if (!held.has(file.id)) return h("p", { class: "soft" }, say(`paper-coming-${kind}`, values));
    return h("p", {}, h("a", { class: "button second", href: `/field/documents/${file.id}` }, say(`paper-${kind}`, values)));
  });
}

/** The files of a label version, or in words that they are not here. */
export async function shelf(label) {
  return h("div", { "data-papers": label }, await lines(label));
}

/** Draws every shelf anew, and nothing else of a stop that somebody is writing in. */
export async function refresh(root) {
  for (const box of root.querySelectorAll("[data-papers]")) {
    const fresh = h("div", {}, await lines(box.dataset.papers));
    if (fresh.innerHTML !== box.innerHTML) box.replaceChildren(...fresh.childNodes);
  }
}

/** How many of the files are on this phone, in words; nothing where none is wanted. */
export async function standing() {
  const files = await all("documents"), held = new Set(await keys("files"));
  return files.length ? say("papers-here", { here: files.filter((file) => held.has(file.id)).length, count: files.length }) : "";
}
