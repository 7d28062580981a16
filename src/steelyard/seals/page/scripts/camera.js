// The code before the camera, where the browser gives a page one.
import { codesOnFrame } from "./picture.js";

const PAUSE = 120; // between two looks [ms]

/** Whether there is a camera to ask for. */
export function hasCamera() {
  return Boolean(navigator.mediaDevices?.getUserMedia);
}

/**
 * Show the camera and look for a code until one is found or the camera is put away; null then.
 * @param {HTMLVideoElement} film
 * @param {AbortSignal} stop
 * @returns {Promise<string | null>}
 */
export async function lookThroughCamera(film, stop) {
  const wanted = { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } };
  const stream = await navigator.mediaDevices.getUserMedia({ video: wanted });
  try {
    film.srcObject = stream;
    await film.play();
    while (!stop.aborted) {
      const found = (await codesOnFrame(film)).find((text) => text.includes(":"));
      if (found !== undefined) return found;
      await new Promise((done) => setTimeout(done, PAUSE));
    }
    return null;
  } finally {
    for (const track of stream.getTracks()) track.stop();
    film.srcObject = null;
  }
}
