// Bytes of zlib, inflated by the browser, and never more of them than were asked for.
import { joined } from "./bytes.js";

/**
 * The bytes inflated. No more is unpacked than `most`, whatever the data would become.
 * @param {Uint8Array} data
 * @param {number} most
 * @returns {Promise<Uint8Array | "too much" | "not whole">}
 */
export async function inflated(data, most) {
  const reader = new Blob([data]).stream().pipeThrough(new DecompressionStream("deflate")).getReader();
  /** @type {Uint8Array[]} */
  const parts = [];
  let size = 0;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return joined(...parts);
      size += value.length;
      if (size > most) {
        await reader.cancel();
        return "too much";
      }
      parts.push(value);
    }
  } catch {
    return "not whole"; // as bytes of another kind, cut short, or followed by more
  }
}
