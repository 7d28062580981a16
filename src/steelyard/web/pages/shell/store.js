// What must outlive a reload, in IndexedDB: it is there over plain http too.

const NAME = "steelyard";

let opening = null;

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

// Resolves when the transaction is complete, not when the request is: only then it is on the device's disk.
async function within(mode, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const transaction = db.transaction("outbox", mode, { durability: "strict" });
    const request = work(transaction.objectStore("outbox"));
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

export const put = (item) => within("readwrite", (box) => box.put(item));
export const remove = (order) => within("readwrite", (box) => box.delete(order));
export const swap = (gone, come) =>
  within("readwrite", (box) => {
    for (const order of gone) box.delete(order);
    for (const item of come) box.put(item);
  });
export const all = () => within("readonly", (box) => box.getAll());
