// Photos: made smaller on the phone, sealed, and sent apart from the completion.
import { change, get } from "./store.js";
import { seal } from "./seal.js";
import { uuid7 } from "./ids.js";

const LONGEST_SIDE = 1600;

/** The picture as a JPEG that is small enough for a slow link; drawing it anew drops where it was taken. */
async function smaller(file) {
  // Upright as the camera was held: what says so goes with the rest.
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const by = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * by));
  canvas.height = Math.max(1, Math.round(picture.height * by));
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.8));
  return blob.arrayBuffer();
}

/** Keeps a photo; it is sent once its visit is finished. */
export async function keep(person, visit, file) {
  const id = uuid7(), sealed = await seal(person, await smaller(file));
  await change(["photos"], (at) => at("photos").put({ id, person, visit, draft: true, state: "waiting", tries: 0, next: 0, sealed }, id));
  return id;
}

/** The visit is finished: its photos may go. */
export async function release(ids) {
  const held = (await Promise.all(ids.map((id) => get("photos", id)))).filter(Boolean);
  if (held.length) await change(["photos"], (at) => held.forEach((photo) => at("photos").put({ ...photo, draft: false }, photo.id)));
}

/** Takes a photo away again. */
export const drop = (id) => change(["photos"], (at) => at("photos").delete(id));
