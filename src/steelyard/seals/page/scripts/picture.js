// The code in a picture: read by the browser where it can, else by the reader that is part of this page.
import { Refused } from "./bytes.js";
import { decodeQR } from "../reader/qr-reader.js";

/** Pixels of a picture that are looked at; a larger one is made smaller. */
const MOST_PIXELS = 16_000_000;
/** Pixels of a picture at most: unpacked they take four bytes each. */
const LARGEST_PICTURE = 80_000_000;
/** Every attempt of the reader, however long they take: the answer must not hang on how busy the device is. */
const THOROUGH = { effort: 3, timeLimit: Number.MAX_SAFE_INTEGER };
/** Of a film the next frame is soon there. */
const QUICK = { effort: 1, timeLimit: 60 };

/**
 * The texts of the codes in the bytes of a picture; none where no code is found.
 * @param {Uint8Array} data
 * @returns {Promise<string[]>}
 */
export async function codesIn(data) {
  if (pixelsTold(data) > LARGEST_PICTURE)
    throw new Refused("is a picture with too many pixels; no telephone takes such a one");
  let bitmap;
  try {
    bitmap = await createImageBitmap(new Blob([data]));
  } catch {
    throw new Refused("is a picture that this browser cannot open");
  }
  const scale = Math.min(1, Math.sqrt(MOST_PIXELS / (bitmap.width * bitmap.height)));
  for (const size of [scale, scale / 2]) {
    const found = await codesOn(bitmap, bitmap.width * size, bitmap.height * size, THOROUGH);
    if (found.length > 0) return found;
  }
  return [];
}

/**
 * How many pixels the head of a picture tells, before anything is unpacked; 0 where it is of a kind that is not known.
 * @param {Uint8Array} data
 */
function pixelsTold(data) {
  const view = new DataView(data.buffer, data.byteOffset, data.byteLength);
  if (data[0] === 0x89 && data.length > 24) return view.getUint32(16) * view.getUint32(20); // PNG: the chunk IHDR
  if (data[0] === 0x52 && data[15] === 0x58 && data.length > 30) {
    return ((view.getUint32(23, true) >>> 8) + 1) * ((view.getUint32(26, true) >>> 8) + 1); // WebP of the long form
  }
  if (data[0] !== 0xff) return 0;
  for (let at = 2; at + 9 < data.length && data[at] === 0xff; at += 2 + view.getUint16(at + 2)) {
    const marker = data[at + 1]; // JPEG: a begin of a frame, whichever of its kinds
    const frame = marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
    if (frame) return view.getUint16(at + 5) * view.getUint16(at + 7);
  }
  return 0;
}

/**
 * The texts of the codes on one frame of a film.
 * @param {HTMLVideoElement} film
 */
export async function codesOnFrame(film) {
  return codesOn(film, film.videoWidth, film.videoHeight, QUICK);
}

/**
 * @param {CanvasImageSource} source
 * @param {number} wide
 * @param {number} high
 * @param {{ effort: number, timeLimit: number }} pains
 * @returns {Promise<string[]>}
 */
async function codesOn(source, wide, high, pains) {
  const [width, height] = [Math.round(wide), Math.round(high)];
  if (width < 40 || height < 40) return []; // too small for any code
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  if (pen === null) throw new Refused("cannot be drawn by this browser");
  pen.fillStyle = "white";
  pen.fillRect(0, 0, width, height);
  pen.drawImage(source, 0, 0, width, height);
  const own = await codesByBrowser(canvas);
  if (own.length > 0) return own;
  try {
    return [decodeQR(pen.getImageData(0, 0, width, height), pains)];
  } catch {
    return []; // so the reader says that there is no code
  }
}

/**
 * @param {HTMLCanvasElement} canvas
 * @returns {Promise<string[]>}
 */
async function codesByBrowser(canvas) {
  if (typeof BarcodeDetector === "undefined") return [];
  try {
    const found = await new BarcodeDetector({ formats: ["qr_code"] }).detect(canvas);
    return found.map((one) => one.rawValue);
  } catch {
    return []; // some systems have the name and nothing behind it
  }
}
