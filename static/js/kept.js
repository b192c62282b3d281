// What this device keeps (IndexedDB): the last picture of each trip, its own undelivered acts, and
// a copy of the raw log. Nothing here decides anything; what is kept outlives the tab and the box.

/**
 * @typedef {Record<string, any>} Json
 * @typedef {{ wall: number, mono: number, origin: number }} Made by the wall clock, and by the monotonic clock of the page that began at `origin`
 * @typedef {{ nth?: number, trip: string, events: Json[], made: Made, words: string, form?: { action: string, body: string }, tried?: boolean, refused?: string }} Act
 * @typedef {{ trip: string, picture: Json, now: string, wall: number, who: Json, saved: number, zone?: string, speed?: number, palette?: string, units?: string, certificate?: { ends: string, basic?: string } }} Held
 */

const NAME = 'deckwatch';
const VERSION = 1;
/** Trips of which anything is kept; the longest unused goes first, never one with undelivered acts. */
const MOST_TRIPS = 12;

/** @type {Promise<IDBDatabase> | undefined} */
let opened;

/** @returns {Promise<IDBDatabase>} */
function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      const db = asked.result;
      db.createObjectStore('trips', { keyPath: 'trip' });
      db.createObjectStore('acts', { keyPath: 'nth', autoIncrement: true }).createIndex('trip', 'trip');
      db.createObjectStore('lines', { keyPath: ['trip', 'id'] }).createIndex('trip', ['trip', 'entry']);
    };
    asked.onsuccess = () => {
      const db = asked.result;
      // A newer page wants to change the shape: let it, and open anew when next asked.
      db.onversionchange = () => {
        db.close();
        opened = undefined;
      };
      db.onclose = () => (opened = undefined);
      resolve(db);
    };
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error('another page holds the storage open'));
  });
  // A failed opening is tried again when next asked.
  opened.catch(() => (opened = undefined));
  return opened;
}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
const answered = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** Runs in one transaction; resolves when it is on the medium, not before.
 * @template T @param {string[]} stores @param {(tx: IDBTransaction) => Promise<T>} work @returns {Promise<T>} */
async function write(stores, work) {
  const db = await open();
  // Without 'strict' the promise would be kept by the operating system's cache alone.
  const tx = db.transaction(stores, 'readwrite', { durability: 'strict' });
  const done = new Promise((resolve, reject) => {
    tx.oncomplete = () => resolve(undefined);
    tx.onabort = () => reject(tx.error ?? new Error('not saved'));
  });
  const result = await work(tx);
  await done;
  return result;
}

/** @template T @param {string} store @param {(from: IDBObjectStore) => IDBRequest<T>} ask @returns {Promise<T>} */
async function read(store, ask) {
  const db = await open();
  return answered(ask(db.transaction(store).objectStore(store)));
}

/** @param {string} trip */
const of = (trip) => IDBKeyRange.only(trip);
/** @param {string} trip */
const linesOf = (trip) => IDBKeyRange.bound([trip, 0], [trip, Infinity]);

/** Every trip that is kept, the one used last first. @returns {Promise<Held[]>} */
export async function trips() {
  const all = await read('trips', (from) => from.getAll());
  return all.sort((a, b) => b.saved - a.saved);
}

/** @param {string} trip @returns {Promise<Held | undefined>} */
export const held = (trip) => read('trips', (from) => from.get(trip));

/** Keeps the last picture of a trip. @param {Held} held */
export const hold = (held) =>
  write(['trips', 'lines', 'acts'], async (tx) => {
    const [trips, acts] = await Promise.all([answered(tx.objectStore('trips').getAll()), answered(tx.objectStore('acts').getAll())]);
    const waits = (/** @type {string} */ trip) => acts.some((/** @type {Act} */ act) => act.trip === trip);
    const others = trips.filter((/** @type {Held} */ one) => one.trip !== held.trip && !waits(one.trip)).sort((/** @type {Held} */ a, /** @type {Held} */ b) => b.saved - a.saved);
    tx.objectStore('trips').put(held);
    for (const one of others.slice(MOST_TRIPS - 1)) {
      tx.objectStore('trips').delete(one.trip);
      tx.objectStore('lines').delete(IDBKeyRange.bound([one.trip, ''], [one.trip, '\uffff']));
    }
  });

/** Keeps an act of this device; when this resolves it is on the medium. @param {Act} act @returns {Promise<number>} its number */
export const keep = (act) => write(['acts'], async (tx) => Number(await answered(tx.objectStore('acts').add(act))));

/** Acts as they are now, in one write. @param {...Act} changed */
export const change = (...changed) =>
  write(['acts'], async (tx) => {
    const store = tx.objectStore('acts');
    // One that was dropped meanwhile is not brought back.
    for (const act of changed) if (await answered(store.getKey(Number(act.nth)))) store.put(act);
  });

/** An act that is delivered, or was not taken. @param {number[]} nths */
export const drop = (nths) =>
  write(['acts'], async (tx) => {
    for (const nth of nths) tx.objectStore('acts').delete(nth);
  });

/** The acts of a trip that are not delivered, in order. @param {string} trip @returns {Promise<(Act & { nth: number })[]>} */
export const acts = (trip) => read('acts', (from) => from.index('trip').getAll(of(trip)));

/** Trips with acts that are to be delivered. @returns {Promise<string[]>} */
export async function waiting() {
  const all = await read('acts', (from) => from.getAll());
  return [...new Set(all.filter((/** @type {Act} */ act) => !act.refused).map((/** @type {Act} */ act) => act.trip))];
}

/** The events that are not delivered, whole, numbered as they will be if nothing comes between.
 * @param {string} trip @returns {Promise<{ event: Json, made: Made }[]>} */
export async function pending(trip) {
  const [waits, known] = [await acts(trip), await held(trip)];
  // What a box refused is handed over too: another may know better.
  const events = waits.flatMap((act) => act.events.map((event) => ({ event, made: act.made })));
  const device = events[0]?.event.device;
  let seq = Number(known?.picture.knows?.[device] ?? 0);
  // One that was handed over has its number for good, and the next follows it.
  return events.map(({ event, made }) => ({ event: { ...event, device_seq: (seq = event.device_seq ?? seq + 1) }, made }));
}

/** The copy of a trip's log: lines as the box gives them, in its order. @param {string} trip @returns {Promise<string[]>} */
export async function lines(trip) {
  const all = await read('lines', (from) => from.index('trip').getAll(linesOf(trip)));
  return all.map((one) => one.line);
}

/** Adds lines to the copy; one that is held already stays as it is. @param {string} trip @param {string[]} added */
export const addLines = (trip, added) =>
  write(['lines'], async (tx) => {
    const store = tx.objectStore('lines');
    for (const line of added) {
      const told = JSON.parse(line);
      const id = String(told.event.id);
      // Lines of a device that has not delivered come after all that a box has numbered.
      const entry = Number(told.receipt?.entry ?? Number.MAX_SAFE_INTEGER);
      if (!(await answered(store.getKey([trip, id])))) store.put({ trip, id, entry, line });
    }
  });
