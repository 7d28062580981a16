// A plain plan of a rig for the pads: its wheels in their order, a big plate beside each. It is not to scale: the station
// draws that once it is back. The classes are those of its own drawing, so that rig.js writes into both.

const [WIDTH, PLATE, HIGH, PITCH, TOP] = [366, 116, 50, 62, 48];
const [MIDDLE, HALF, TYRE] = [WIDTH / 2, 38, 30];

/** @type {<K extends keyof SVGElementTagNameMap>(tag: K, given: Record<string, string | number>, words?: string) => SVGElementTagNameMap[K]} */
function mark(tag, given, words = "") {
  const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(given)) node.setAttribute(name, String(value));
  node.textContent = words;
  return node;
}

/** @type {(rig: Page.UnsentRigDrawn) => SVGSVGElement} */
export function drawn({ title, stations }) {
  const rows = [...new Set(stations.map((one) => one.x))];
  /** @type {(x: number) => number} */
  const at = (x) => TOP + rows.indexOf(x) * PITCH;
  const height = TOP + (rows.length - 1) * PITCH + HIGH / 2 + 12;
  const svg = mark("svg", {
    class: "rig",
    viewBox: `0 0 ${WIDTH} ${height}`,
    role: "group",
    "aria-label": `${title}, from above, front up`,
  });
  const under = svg.appendChild(mark("g", { "aria-hidden": "true" }));
  under.append(
    mark("path", { class: "front", d: `M${MIDDLE} 2l6 11h-12z` }),
    mark("text", { class: "small", x: MIDDLE + 12, y: 12 }, "front"),
  );
  for (const vehicle of new Set(stations.map((one) => one.of))) {
    const heights = stations.filter((one) => one.of === vehicle && one.name.length === 2).map((one) => at(one.x)),
      [first, last] = [Math.min(...heights) - 26, Math.max(...heights) + 26];
    const link = stations.find((one) => one.of === vehicle && one.place.endsWith("/coupling"));
    if (link) under.append(mark("path", { class: "frame", d: `M${MIDDLE} ${at(link.x)}V${last}` }));
    under.append(
      mark("rect", { class: "body", x: MIDDLE - HALF, y: first, width: 2 * HALF, height: last - first, rx: 10 }),
    );
    if (link)
      under.append(
        mark("circle", { class: link.aboard ? "coupling" : "coupling open", cx: MIDDLE, cy: at(link.x), r: 5.5 }),
      );
  }
  for (const one of stations) svg.append(plate(one, at(one.x)));
  return svg;
}

/** @type {(one: Page.UnsentStation, y: number) => SVGGElement} */
function plate({ place, name, spoken, side, aboard }, y) {
  const left = side === "L" ? 2 : WIDTH - 2 - PLATE,
    near = side === "L" ? left + PLATE : left,
    wheel = MIDDLE + (side === "L" ? -HALF : HALF),
    loose = place.endsWith("/coupling"),
    bar = left + 8,
    full = PLATE - 24;
  const group = mark("g", {
    class: aboard ? "wheel aboard" : "wheel",
    role: "button",
    tabindex: 0,
    "data-place": place,
    "data-spoken": spoken,
    "aria-label": spoken,
  });
  if (!loose)
    group.append(mark("rect", { class: "tyre", x: wheel - 6, y: y - TYRE / 2, width: 12, height: TYRE, rx: 2 }));
  group.append(
    mark("path", { class: "lead", d: `M${loose ? MIDDLE : wheel} ${y}L${near} ${y}` }),
    mark("rect", { class: "plate", x: left, y: y - HIGH / 2, width: PLATE, height: HIGH, rx: 7 }),
    mark("rect", { class: "trough", x: bar, y: y + 14, width: full, height: 6 }),
    mark("rect", { class: "fill", x: bar, y: y + 14, width: 0, height: 6 }),
    mark("path", { class: "limit", d: `M${bar + full} ${y + 12}v10` }),
    mark("text", { class: "name", x: bar, y: y - (aboard ? 10 : 8) }, name),
    mark("text", { class: "pad", x: bar, y: y + 8 }),
    mark("text", { class: "load", x: left + PLATE - 9, y: y + (aboard ? 10 : 5) }, "–"),
  );
  return group;
}
