// How much trailer: the chart, and its corners in words.

import { LEAST } from "./asking.js";
import { $, first } from "./dom.js";

const dark = matchMedia("(prefers-color-scheme: dark)");
const theme = () => document.documentElement.dataset.look || (dark.matches ? "dark" : "light");

/** @type {(the: Page.Asker) => Page.AskScript} */
export default function trailer(the) {
  const { day, show, make } = the,
    figure = $("trailer-drawing");

  function drawing() {
    if (!figure.dataset.drawing) return;
    const url = new URL(figure.dataset.drawing, location.href);
    url.searchParams.set("theme", theme());
    const image =
      first(figure, "img", HTMLImageElement) ?? figure.appendChild(make("img", "", { width: 1600, height: 900 }));
    image.alt = figure.dataset.alt ?? "";
    if (image.src !== url.href) image.src = url.href;
  }
  document.addEventListener("look", drawing);
  dark.addEventListener("change", drawing);

  /** @type {(given: Page.Given) => { from: string, at: string }} */
  const asked = ({ from }) => {
    const [state, , at] = String(from).split("/");
    return { from: state, at };
  };

  /** @type {(data: Api.Trailer, share: number, gross: number) => string[]} */
  function trailerWords(data, share, gross) {
    const names = new Map(data.limits.map((limit) => [limit.id, limit.label]));
    /** @type {(id: string | null) => string} */
    const labels = (id) => (id === null ? undefined : names.get(id)) ?? "no limit";
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
        `Corner: ${shown(corner.mass)} ${day.unit} at ${show(corner.share, 1)} %, between ${corner.limits.map(labels).join(" and ")}.`,
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

  /** @type {(value: number | null, digits?: number) => string} */
  const shown = (value, digits = 0) => (value === null ? "–" : show(value, digits));

  /** @type {(data: Api.Trailer) => string[]} */
  function asWeighed(data) {
    return data.trailers.map(
      (given) =>
        `${day.titles[given.trailer]} as weighed: ${shown(given.gross.value)} ${day.unit} with ${shown(given.share.value, 1)} % on the coupling.`,
    );
  }

  return {
    body: asked,
    /** @type {(data: Api.Trailer, given: Page.Given) => Node[]} */
    show(data, given) {
      const query = new URLSearchParams(asked(given));
      figure.dataset.drawing = `${figure.dataset.chart}?${query}`;
      figure.dataset.alt =
        "Chart: largest gross trailer mass over the share of it on the coupling; the text beside it holds the same figures";
      figure.hidden = false;
      drawing();
      return trailerWords(data, Number(given.share ?? 0), Number(given.gross ?? 0)).map((words) => make("p", words));
    },
  };
}
