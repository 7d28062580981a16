// Photos that were chosen and not kept yet, on this device: in a store of its own, for the queue sends all it has.

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

// A browser that keeps nothing: the page itself still has them.
/** @type {(day: string, photos: Page.TakenPhoto[]) => Promise<unknown>} */
export const keepPhotos = (day, photos) =>
  (photos.length
    ? within("readwrite", (box) => box.put({ photos }, day))
    : within("readwrite", (box) => box.delete(day))
  ).catch(() => {});

// An older page kept one, of the whole draft.
/** @type {(day: string) => Promise<Page.TakenPhoto[]>} */
export async function photosLeft(day) {
  /** @type {{ photos?: Page.TakenPhoto[], blob?: Blob, when?: number } | undefined} */
  const left = await within("readonly", (box) => box.get(day)).catch(() => undefined);
  if (left?.blob) return [{ place: null, blob: left.blob, when: left.when ?? Date.now() }];
  return left?.photos ?? [];
}
