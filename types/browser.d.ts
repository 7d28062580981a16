// For the type checker alone; nothing of this is sent to a browser.

/** The declarations of Debian's checker do not know `AbortSignal.timeout` yet. */
interface NewableFunction {
  timeout(ms: number): AbortSignal;
}

/** The addresses that the service worker keeps at hand; the station writes them in as it sends the script. */
declare const SHELL_FILES: string[];
