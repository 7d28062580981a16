// A photo that was chosen for a draft and not kept yet, on this device: in a store of its own, for the queue sends all it has.

const NAME = "steelyard-photo";

/** @type {() => Promise<IDBDatabase>} */
function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore("photos");
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/**
 * @template T
 * @param {IDBTransactionMode} mode
 * @param {(box: IDBObjectStore) => IDBRequest<T>} work
 * @returns {Promise<T>}
 */
async function within(mode, work) {
  const db = await open();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = db.transaction("photos", mode);
      const request = work(transaction.objectStore("photos"));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  } finally {
    db.close();
  }
}

// A browser that keeps nothing: the page itself still has it.
/** @type {(day: string, blob: Blob | null) => Promise<unknown>} */
export const keepPhoto = (day, blob) =>
  (blob
    ? within("readwrite", (box) => box.put({ blob, when: Date.now() }, day))
    : within("readwrite", (box) => box.delete(day))
  ).catch(() => {});
/** @type {(day: string) => Promise<{ blob: Blob, when: number } | undefined>} */
export const photoLeft = (day) => within("readonly", (box) => box.get(day)).catch(() => undefined);
