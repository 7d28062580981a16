// What the page of a new rig holds for days that are begun without the station: the yard, and the words for its fields. It
// comes from the station, or as this device saw it last.

/** @type {Promise<Document> | undefined} */
let fetching;
/** @type {(url: string) => Promise<Document>} */
function pageAt(url) {
  fetching ??= (async () => {
    const found =
      (await fetch(url, { credentials: "same-origin" }).catch(() => null)) ??
      (await caches.match(url)) ??
      new Response();
    return new DOMParser().parseFromString(await found.text(), "text/html");
  })();
  return fetching;
}

// Of the yard what these answers need.
/** @type {(url: string, answers: Record<string, string>) => Promise<Page.YardForPlan>} */
export async function yardOf(url, answers) {
  const held = (await pageAt(url)).querySelector("#yard-for-plan")?.textContent;
  /** @type {Page.YardForPlan} */
  const { vehicles, instruments } = held ? JSON.parse(held) : { vehicles: {}, instruments: {} };
  if (answers.from_yard && !vehicles[answers.from_yard]) throw new Error("it knows no such rig of the yard");
  const taken = Object.entries(vehicles).filter(([name]) => name === answers.from_yard || answers[`with.${name}`]);
  return { vehicles: Object.fromEntries(taken), instruments };
}

// What each field is called.
/** @type {(url: string) => Promise<Record<string, string>>} */
export async function labelsOf(url) {
  const page = await pageAt(url).catch(() => null);
  const labels = page ? [...page.querySelectorAll("label[for^=f-]")] : [];
  return Object.fromEntries(
    labels.map((label) => [label.getAttribute("for")?.slice(2) ?? "", label.firstChild?.textContent?.trim() ?? ""]),
  );
}
