// How much trailer: the chart, and its corners in words.

import { LEAST } from "./asking.js";

const dark = matchMedia("(prefers-color-scheme: dark)");
const theme = () => document.documentElement.dataset.look || (dark.matches ? "dark" : "light");

export default function trailer(the) {
  const { day, show, make } = the,
    figure = document.getElementById("trailer-drawing");

  function drawing() {
    if (!figure.dataset.drawing) return;
    const url = new URL(figure.dataset.drawing, location.href);
    url.searchParams.set("theme", theme());
    let image = figure.querySelector("img");
    if (!image) image = figure.appendChild(Object.assign(document.createElement("img"), { width: 1600, height: 900 }));
    image.alt = figure.dataset.alt;
    if (image.src !== url.href) image.src = url.href;
  }
  document.addEventListener("look", drawing);
  dark.addEventListener("change", drawing);

  const asked = ({ from }) => {
    const [state, , at] = from.split("/");
    return { from: state, at };
  };

  function trailerWords(data, share, gross) {
    const names = new Map(data.limits.map((limit) => [limit.id, limit.label])),
      labels = (id) => names.get(id) ?? "no limit";
    const open = data.not_judged.length ? [`Not judged, because not determined: ${data.not_judged.join(", ")}.`] : [];
    if (data.contested) open.unshift(LEAST);
    if (data.missed.length) {
      const lines = [
        `No trailer is allowed: ${data.missed.map(labels).join(" and ")} ${data.missed.length > 1 ? "are" : "is"} not kept at 95 % without any trailer. Change the load, or weigh again where it is too close to call.`,
      ];
      return [...open, ...lines, ...asWeighed(data)];
    }
    const lines = [
      `Coupling load: ${data.coupling_load.most === null ? "no limit bounds it" : `${show(Math.floor(data.coupling_load.most))} ${day.unit} at most, by ${labels(data.coupling_load.limit)}`}.`,
    ];
    const at = data.region.reduce(
      (best, one) => (Math.abs(one.share - share) < Math.abs(best.share - share) ? one : best),
      data.region[0],
    );
    if (share > 0) {
      lines.push(
        `With ${show(at.share, 1)} % of it on the coupling: ${at.max_mass === null ? "no limit binds" : `${show(Math.floor(at.max_mass))} ${day.unit} gross at most, by ${labels(at.limit)}`}.`,
      );
      if (gross > 0 && at.max_mass !== null)
        lines.push(
          gross <= at.max_mass
            ? `${show(gross)} ${day.unit} keeps every limit at 95 %, with ${show(Math.floor(at.max_mass - gross))} ${day.unit} of room.`
            : `${show(gross)} ${day.unit} is ${show(Math.ceil(gross - at.max_mass))} ${day.unit} more than that.`,
        );
    }
    for (const corner of data.corners)
      lines.push(
        `Corner: ${show(corner.mass)} ${day.unit} at ${show(corner.share, 1)} %, between ${corner.limits.map(labels).join(" and ")}.`,
      );
    const [from, to] = data.largest.shares.map((part) => show(part, 1)),
      range = from === to ? from : `${from} to ${to}`;
    if (data.largest.mass !== null)
      lines.push(`The largest of all: ${show(Math.floor(data.largest.mass))} ${day.unit} at ${range} %.`);
    for (const moved of data.moved)
      if (moved.by !== 0 && moved.max_mass !== null)
        lines.push(
          `Coupling ${show(Math.abs(moved.by), 2)} ${day.length} further ${moved.by > 0 ? "back" : "forward"}: ${show(Math.floor(moved.max_mass))} ${day.unit} at ${show(moved.share, 1)} %.`,
        );
    return [...open, ...lines, ...asWeighed(data)];
  }

  function asWeighed(data) {
    return data.trailers.map(
      (given) =>
        `${day.titles[given.trailer]} as weighed: ${show(given.gross.value)} ${day.unit} with ${show(given.share.value, 1)} % on the coupling.`,
    );
  }

  return {
    body: asked,
    show(data, given) {
      const query = new URLSearchParams(asked(given));
      figure.dataset.drawing = `${figure.dataset.chart}?${query}`;
      figure.dataset.alt =
        "Chart: largest gross trailer mass over the share of it on the coupling; the text beside it holds the same figures";
      figure.hidden = false;
      drawing();
      return trailerWords(data, given.share, given.gross).map((words) => make("p", words));
    },
  };
}
