// Everything is kept on the phone, in IndexedDB, at the moment at which it comes or is typed.
// "strict" waits until it is on the disk, so that a phone that dies takes nothing along.
import { openDB } from "./idb.js";

const STRICT = { durability: "strict" };

/** The kept recordings: days, their fixes, passes and notes, and what is typed meanwhile. */
export async function openStore() {
  const db = await openDB("groundtruth-recorder", 1, {
    upgrade(fresh) {
      fresh.createObjectStore("days", { keyPath: "id", autoIncrement: true });
      for (const name of ["fixes", "passes", "notes"]) {
        const store = fresh.createObjectStore(name, { keyPath: "id", autoIncrement: true });
        store.createIndex("day", "day");
      }
      fresh.createObjectStore("kept");
    },
  });

  async function put(name, value) {
    const act = db.transaction(name, "readwrite", STRICT);
    const [id] = await Promise.all([act.store.put(value), act.done]);
    return { ...value, id };
  }

  return {
    put,
    days: () => db.getAll("days"),
    of: (name, day) => db.getAllFromIndex(name, "day", day),
    count: (name, day) => db.countFromIndex(name, "day", day),
    kept: (name) => db.get("kept", name),
    async keep(name, value) {
      const act = db.transaction("kept", "readwrite", STRICT);
      await Promise.all([act.store.put(value, name), act.done]);
    },
    async lastFix(day) {
      const cursor = await db
        .transaction("fixes")
        .store.index("day")
        .openCursor(IDBKeyRange.only(day), "prev");
      return cursor?.value;
    },
    async remove(day) {
      const names = ["days", "fixes", "passes", "notes"];
      const act = db.transaction(names, "readwrite", STRICT);
      const gone = [act.objectStore("days").delete(day)];
      for (const name of names.slice(1)) {
        const store = act.objectStore(name);
        for (const key of await store.index("day").getAllKeys(day)) gone.push(store.delete(key));
      }
      await Promise.all([...gone, act.done]);
    },
  };
}
