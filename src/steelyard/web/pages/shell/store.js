// What must outlive a reload, in IndexedDB: it is there over plain http too.

const NAME = "steelyard";

/** @type {Promise<IDBDatabase> | null} */
let opening = null;

/** @type {() => Promise<IDBDatabase>} */
function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () =>
      request.result.createObjectStore("outbox", { keyPath: "order", autoIncrement: true });
    request.onsuccess = () => {
      request.result.onclose = () => {
        opening = null;
      };
      resolve(request.result);
    };
    request.onerror = () => {
      opening = null;
      reject(request.error);
    };
  });
  return opening;
}

/**
 * Resolves when the transaction is complete, not when the request is: only then it is on the device's disk.
 * @template T
 * @param {IDBTransactionMode} mode
 * @param {(box: IDBObjectStore) => IDBRequest<T> | undefined} work
 * @returns {Promise<T>}
 */
async function within(mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const transaction = db.transaction("outbox", mode, { durability: "strict" });
    const request = work(transaction.objectStore("outbox"));
    transaction.oncomplete = () => resolve(/** @type {T} */ (request?.result));
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

/** @type {(item: Page.Waiting | Page.UnsentRig) => Promise<unknown>} */
export const put = (item) => within("readwrite", (box) => box.put(item));
/** @type {(order: number) => Promise<unknown>} */
export const remove = (order) => within("readwrite", (box) => box.delete(order));
/** @type {(gone: number[], come: Page.Item[]) => Promise<unknown>} */
export const swap = (gone, come) =>
  within("readwrite", (box) => {
    for (const order of gone) box.delete(order);
    for (const item of come) box.put(item);
    return undefined;
  });
/** @type {() => Promise<Page.Waiting[]>} */
export const all = () => within("readonly", (box) => box.getAll());

// What `change` makes of all that is there, in one step: nobody sees it half done, and nobody comes between.
/** @type {(change: (items: (Page.Waiting | Page.UnsentRig | Page.MadeRig)[]) => { come: object[], gone: number[] }) => Promise<void>} */
export const rewrite = async (change) => {
  await within("readwrite", (box) => {
    const found = box.getAll();
    found.onsuccess = () => {
      const { come, gone } = change(found.result);
      for (const order of gone) box.delete(order);
      for (const item of come) box.put(item);
    };
    return found;
  });
};
