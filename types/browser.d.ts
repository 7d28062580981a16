// For the type checker alone; nothing of this is sent to a browser.

/** The declarations of Debian's checker do not know `AbortSignal.timeout` yet. */
interface NewableFunction {
  timeout(ms: number): AbortSignal;
}

/** The addresses that the service worker keeps at hand; the station writes them in as it sends the script. */
declare const SHELL_FILES: string[];
declare const STATION_PAGES: Record<"offline" | "home" | "new" | "unsent", string>;

/** Not every browser has it, nor every list of declarations. */
declare const BarcodeDetector: {
  new (options: { formats: string[] }): { detect(source: CanvasImageSource): Promise<{ rawValue: string }[]> };
};

/** Unpacks as it reads; Debian's list of declarations does not have it yet. */
declare class DecompressionStream {
  constructor(format: "deflate" | "deflate-raw" | "gzip");
  readonly readable: ReadableStream<Uint8Array>;
  readonly writable: WritableStream<Uint8Array>;
}
