// The load map under the plan: how much more each place can take, and what binds there.

import { call, wordsOf } from "./api.js";
import { draw } from "./ask-shapes.js";
import { LEAST, away, scenario, valued } from "./asking.js";
import { $, element } from "./dom.js";
import { readLength, readMass, written } from "./number.js";

const NUMBERS = ["map-x", "map-y"];
/** @type {(id: string) => HTMLInputElement} */
const field = (id) => element(id, HTMLInputElement);

/** @type {(the: Page.Asker) => Page.AskScript} */
export default function loadMap(the) {
  const { day, plan, show, make } = the;
  const on = element("map-on", HTMLSelectElement),
    asked = element("map", HTMLInputElement);
  /** @type {Api.LoadMap | null} */
  let map = null;
  // the place that was asked for last: what it can take is said anew when something is moved
  /** @type {{ vehicle: string, x: number, y: number } | null} */
  let place = null;
  let timer = 0,
    turn = 0;

  async function drawMap() {
    if (!asked.checked) {
      map = null;
      near(null);
      plan.map(null);
      $("map-part").hidden = true;
      return;
    }
    $("map-part").hidden = false;
    near(on.value);
    const mine = (turn += 1);
    try {
      const item = valued(
        field("map-item"),
        (words) => readMass(field("map-item").value, day.unit, words),
        "One thing of: type a mass, or nothing.",
      );
      /** @type {Page.Answer<Api.LoadMap>} */
      const { data } = await call("POST", day.links.loadmap, {
        json: { ...scenario(the), on: on.value, grid: [96, 40], ...(item === undefined ? {} : { item }) },
      });
      if (mine !== turn || !asked.checked) return; // a later question is on its way
      map = data;
      plan.map(data);
      legend(data);
      the.used($("map-part"));
      if (place && place.vehicle === data.vehicle) look(place.vehicle, place.x, place.y);
      else $("map-says").textContent = "Tap a place of the floor, or type one and ask.";
    } catch (error) {
      if (mine !== turn) return;
      map = null;
      plan.map(null);
      $("map-key").replaceChildren();
      $("map-says").textContent = away(error);
    }
  }

  // With the map on, its vehicle alone is drawn, larger.
  /** @type {(only: string | null) => void} */
  function near(only) {
    if (plan.only !== only) {
      plan.draw(plan.whole, only);
      the.paint();
    }
  }

  /** @type {(data: Api.LoadMap) => void} */
  function legend(data) {
    const rows = data.limits
      .flatMap(({ letter, label }) => (letter ? [{ letter, label }] : []))
      .sort((a, b) => a.letter.localeCompare(b.letter))
      .map(({ letter, label }) => {
        const row = make("li");
        row.append(make("b", letter, "letter"), make("span", label));
        return row;
      });
    const scale = $("map-scale");
    scale.replaceChildren(
      ...data.bands.map((band, place) => {
        const mark = draw(
          "svg",
          { viewBox: "0 0 10 10", preserveAspectRatio: "none", "aria-hidden": "true" },
          draw("rect", { width: 10, height: 10, fill: band.colour }),
        );
        const item = make("li");
        item.append(mark, make("span", show(band.from)));
        item.dataset.place = String(place);
        return item;
      }),
    );
    const end = make("li", "", "end");
    end.append(make("span", `${show(data.most)} ${day.unit}`));
    scale.append(end);
    $("map-key").replaceChildren(...rows);
    /** @type {string[]} */
    const notes = [];
    if (data.assumed_floor)
      notes.push("The file gives no load_floor; the rectangle of axles and tracks stands in for it.");
    if (data.contested) notes.push(LEAST);
    if (data.not_judged.length)
      notes.push(`Not judged, because not determined: ${data.not_judged.map(the.labelOf).join(", ")}.`);
    for (const missed of data.missed) notes.push(`Not kept at 95 % before anything is added: ${the.labelOf(missed)}.`);
    $("map-notes").replaceChildren(...notes.map((words) => make("li", words)));
  }

  // The nearest place of the grid.
  /** @type {(values: number[], value: number) => number} */
  function at(values, value) {
    let best = 0;
    values.forEach((one, place) => {
      if (Math.abs(one - value) < Math.abs(values[best] - value)) best = place;
    });
    return best;
  }

  /** @type {(vehicle: string, x: number, y: number) => void} */
  function tap(vehicle, x, y) {
    field("map-x").value = written(x);
    field("map-y").value = written(y);
    look(vehicle, x, y);
  }

  /** @type {(vehicle: string, x: number, y: number) => void} */
  function look(vehicle, x, y) {
    if (!map || vehicle !== map.vehicle) return;
    place = { vehicle, x, y };
    const column = at(map.x, x),
      row = at(map.y, y),
      most = map.max_mass[row][column],
      limit = map.limits[map.limit[row][column]];
    const where = `At ${show(x, 1)} ${day.length} back, ${y === 0 ? "in the middle" : `${show(Math.abs(y), 1)} ${day.length} ${y > 0 ? "left" : "right"}`}`;
    const off =
      x < Math.min(...map.outline.map((corner) => corner[0])) ||
      x > Math.max(...map.outline.map((corner) => corner[0])) ||
      Math.abs(y) > Math.max(...map.outline.map((corner) => Math.abs(corner[1])));
    if (off) $("map-says").textContent = `${where}: off the load floor.`;
    else if (most === null) $("map-says").textContent = `${where}: no limit binds, or it is off the floor.`;
    else
      $("map-says").textContent =
        `${where}: ${show(Math.floor(most))} ${day.unit} more at most. ${limit ? `What binds: ${limit.label}.` : ""}`;
    if (map.fits)
      $("map-says").textContent += map.fits[row][column]
        ? " The thing may stand here."
        : " The thing may not stand here.";
    plan.pin(vehicle, x, y);
  }

  for (const id of ["map", "map-on", "map-item"]) $(id).addEventListener("change", drawMap);
  $("map-look").addEventListener("click", () => {
    try {
      const [x, y] = NUMBERS.map((id) =>
        valued(
          field(id),
          (words) => readLength(field(id).value, day.length, words),
          "Type how far back and how far left.",
          true,
        ),
      );
      if (x !== undefined && y !== undefined) look(on.value, x, y);
    } catch (error) {
      $("map-says").textContent = wordsOf(error);
    }
  });

  return {
    begin() {
      clearTimeout(timer);
      map = place = null;
    },
    settled() {
      if (!asked.checked) return;
      clearTimeout(timer);
      timer = setTimeout(drawMap, 50);
    },
    tap,
  };
}
