// The load map under the plan: how much more each place can take, and what binds there.

import { call } from "./api.js";
import { LEAST, away, scenario, valued } from "./asking.js";
import { readLength, readMass, written } from "./number.js";

const $ = (id) => document.getElementById(id);

export default function loadMap(the) {
  const { day, plan, show, make } = the;
  let map = null,
    timer = 0,
    turn = 0;

  async function drawMap() {
    if (!$("map").checked) {
      map = null;
      near(null);
      plan.map(null);
      $("map-part").hidden = true;
      return;
    }
    $("map-part").hidden = false;
    const on = $("map-on").value;
    near(on);
    const mine = (turn += 1);
    try {
      const item = valued(
        $("map-item"),
        (words) => readMass($("map-item").value, day.unit, words),
        "One thing of: type a mass, or nothing.",
      );
      const { data } = await call("POST", day.links.loadmap, {
        json: { ...scenario(the), on, grid: [96, 40], ...(item === undefined ? {} : { item }) },
      });
      if (mine !== turn || !$("map").checked) return; // a later question is on its way
      map = data;
      plan.map(data);
      legend(data);
      the.used($("map-part"));
      $("map-says").textContent = "Tap a place of the floor, or type one and ask.";
    } catch (error) {
      if (mine !== turn) return;
      map = null;
      plan.map(null);
      $("map-key").replaceChildren();
      $("map-says").textContent = away(error);
    }
  }

  // With the map on, its vehicle alone is drawn, larger.
  function near(only) {
    if (plan.only !== only) {
      plan.draw(plan.whole, only);
      the.paint();
    }
  }

  function legend(data) {
    const rows = data.limits
      .filter((limit) => limit.letter)
      .sort((a, b) => a.letter.localeCompare(b.letter))
      .map((limit) => {
        const row = make("li");
        row.append(make("b", limit.letter, { className: "letter" }), make("span", limit.label));
        return row;
      });
    const scale = $("map-scale");
    scale.replaceChildren(
      ...data.bands.map((band, place) => {
        const mark = document.createElementNS("http://www.w3.org/2000/svg", "svg");
        mark.setAttribute("viewBox", "0 0 10 10");
        mark.setAttribute("preserveAspectRatio", "none");
        mark.setAttribute("aria-hidden", "true");
        const rect = document.createElementNS("http://www.w3.org/2000/svg", "rect");
        for (const [name, value] of Object.entries({ width: 10, height: 10, fill: band.colour }))
          rect.setAttribute(name, value);
        mark.append(rect);
        const item = make("li");
        item.append(mark, make("span", show(band.from)));
        item.dataset.place = place;
        return item;
      }),
    );
    scale.append(Object.assign(make("li"), { className: "end" }));
    scale.lastChild.append(make("span", `${show(data.most)} ${day.unit}`));
    $("map-key").replaceChildren(...rows);
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
  function at(values, value) {
    let best = 0;
    values.forEach((one, place) => {
      if (Math.abs(one - value) < Math.abs(values[best] - value)) best = place;
    });
    return best;
  }

  function tap(vehicle, x, y) {
    for (const [field, value] of [
      ["map-x", x],
      ["map-y", y],
    ])
      $(field).value = written(value);
    look(vehicle, x, y);
  }

  function look(vehicle, x, y) {
    if (!map || vehicle !== map.vehicle) return;
    const column = at(map.x, x),
      row = at(map.y, y),
      most = map.max_mass[row][column],
      limit = map.limits[map.limit[row][column]];
    const where = `At ${show(x, 1)} ${day.length} back, ${y === 0 ? "in the middle" : `${show(Math.abs(y), 1)} ${day.length} ${y > 0 ? "left" : "right"}`}`;
    const off =
      x < Math.min(...map.outline.map((corner) => corner[0])) ||
      x > Math.max(...map.outline.map((corner) => corner[0])) ||
      Math.abs(y) > Math.max(...map.outline.map((corner) => Math.abs(corner[1])));
    if (off || (most === null && !limit))
      $("map-says").textContent = off
        ? `${where}: off the load floor.`
        : `${where}: no limit binds, or it is off the floor.`;
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
      const [x, y] = ["map-x", "map-y"].map((id) =>
        valued(
          $(id),
          (words) => readLength($(id).value, day.length, words),
          "Type how far back and how far left.",
          true,
        ),
      );
      look($("map-on").value, x, y);
    } catch (error) {
      $("map-says").textContent = error.message;
    }
  });

  return {
    begin() {
      clearTimeout(timer);
      map = null;
    },
    settled() {
      if (!$("map").checked) return;
      clearTimeout(timer);
      timer = setTimeout(drawMap, 50);
    },
    tap,
  };
}
