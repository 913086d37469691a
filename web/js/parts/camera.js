// The phone's camera as a reader, where the browser itself can read barcodes. It runs only while pressed.

import { words } from "../all_words.js";
import { h } from "../build.js";

const LOOK_MS = 200;
const SAME_MS = 2500;
const FORMATS = ["qr_code", "data_matrix", "code_128", "code_39", "code_93", "ean_13", "ean_8", "itf", "upc_a", "upc_e", "aztec", "pdf417"];

/** Whether this browser reads barcodes and may be asked for a camera: a page without TLS may not. */
export const canSee = () => "BarcodeDetector" in globalThis && Boolean(navigator.mediaDevices?.getUserMedia);

/** A camera: `found(code)` for each code seen, once while it stays in view; `failed()` where there is none. */
export function camera({ found, failed, redraw, leave }) {
  let stream = null;
  let timer = null;
  const seen = new Map(); // code → when it was seen last

  async function start(view) {
    try {
      const detector = await reader();
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
      if (leave.aborted) return stop();
      redraw();
      const video = view();
      video.srcObject = stream;
      await video.play();
      look(detector, video);
    } catch {
      stop();
      failed();
    }
  }

  async function reader() {
    const known = await globalThis.BarcodeDetector.getSupportedFormats();
    return new globalThis.BarcodeDetector({ formats: FORMATS.filter((format) => known.includes(format)) });
  }

  function look(detector, video) {
    timer = setTimeout(async () => {
      const codes = await detector.detect(video).catch(() => []); // a frame that is not there yet
      if (!stream) return;
      for (const { rawValue } of codes) if (isNew(rawValue)) found(rawValue);
      look(detector, video);
    }, LOOK_MS);
  }

  function isNew(code) {
    const before = seen.get(code) ?? -SAME_MS;
    seen.set(code, performance.now());
    return performance.now() - before >= SAME_MS;
  }

  function stop() {
    clearTimeout(timer);
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    redraw();
  }

  leave.addEventListener("abort", () => stream && stop());
  document.addEventListener("visibilitychange", () => document.hidden && stream && stop(), { signal: leave });

  return {
    isOn: () => stream !== null,
    press: (view) => (stream ? stop() : start(view)),
    view: () => stream && h("video", { class: "camera", "data-key": "camera", playsinline: true, muted: true, "aria-label": words.scan.cameraView }),
  };
}
