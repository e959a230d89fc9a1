// The server, as it can be reached or not.
import { get } from "./store.js";

/** No answer came: no signal, or the server is down. */
export class NoAnswer extends Error {}
/** The session is over. */
export class SignedOut extends Error {}

async function ask(path, options) {
  let answer;
  try {
    answer = await fetch(path, { credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout(30_000), ...options });
  } catch (reason) {
    throw new NoAnswer(String(reason));
  }
  if (answer.status === 401) throw new SignedOut();
  return answer;
}

/** A read, as JSON. */
export async function fetchJson(path) {
  const answer = await ask(path, {});
  if (!answer.ok) throw new NoAnswer(`${path}: ${answer.status}`);
  try {
    return await answer.json();
  } catch (reason) {
    throw new NoAnswer(String(reason));
  }
}

/** A file's bytes, however slow the link; null where the server has none for us. */
export async function fetchBytes(path) {
  const answer = await ask(path, { signal: AbortSignal.timeout(600_000) });
  if (!answer.ok) return null;
  try {
    return await answer.arrayBuffer();
  } catch (reason) {
    throw new NoAnswer(String(reason));
  }
}

/** A write with the session's token; status and JSON, whatever they are. */
export async function send(method, path, kind, body) {
  const me = await get("meta", "me");
  if (!me) throw new SignedOut();
  const answer = await ask(path, { method, body, headers: { "content-type": kind, "x-plantward-token": me.token } });
  let said;
  try {
    said = await answer.json();
  } catch (reason) {
    throw new NoAnswer(String(reason));
  }
  return { status: answer.status, said };
}
