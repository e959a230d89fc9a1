// What the phone holds, in IndexedDB.
//   meta    me: who is signed in; cursor; company; supervisors; to_sign; contact: when the server was last heard
//   visits, labels                by id, as the interface gives them; gone at sign-out and after expiry
//   documents, files  by id       labels and data sheets: which are needed, and the bytes of those that are here
//   drafts  by visit              work begun, sealed
//   outbox  by id                 completions until they are accepted, sealed
//   photos  by id                 pictures until they are accepted, sealed
//   keys    by person             the key of the sealed parts, while that person is signed in

const STORES = ["meta", "visits", "labels", "documents", "files", "drafts", "outbox", "photos", "keys"];
/** Everything but what nobody else has: work that was not accepted yet. */
export const WIPED = ["meta", "visits", "labels", "documents", "files", "keys"];

let opened;

function database() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open("plantward-field", 2);
    asked.onupgradeneeded = () => {
      const held = asked.result.objectStoreNames;
      STORES.filter((name) => !held.contains(name)).forEach((name) => asked.result.createObjectStore(name));
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      done(asked.result);
    };
    asked.onerror = () => { opened = undefined; failed(asked.error); };
  });
  return opened;
}

const asPromise = (request) => new Promise((done, failed) => {
  request.onsuccess = () => done(request.result);
  request.onerror = () => failed(request.error);
});

export const get = async (store, key) => asPromise((await database()).transaction(store).objectStore(store).get(key));
export const all = async (store) => asPromise((await database()).transaction(store).objectStore(store).getAll());
export const keys = async (store) => asPromise((await database()).transaction(store).objectStore(store).getAllKeys());
export const put = (store, key, value) => change([store], (at) => at(store).put(value, key));
export const remove = (store, key) => change([store], (at) => at(store).delete(key));

/** Changes several stores together; resolved when all of it is on the phone. */
export async function change(stores, work) {
  const transaction = (await database()).transaction(stores, "readwrite", { durability: "strict" });
  work((name) => transaction.objectStore(name));
  await new Promise((done, failed) => {
    transaction.oncomplete = done;
    transaction.onabort = transaction.onerror = () => failed(transaction.error);
  });
}

/** Takes visits, session and keys off the phone. */
export const wipe = () => change(WIPED, (at) => WIPED.forEach((name) => at(name).clear()));
