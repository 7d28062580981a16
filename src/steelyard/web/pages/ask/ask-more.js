// The load map under the plan, how much trailer, and what to change: each asks the station and shows its answer.

import { Away, call } from "./api.js";
import { parse } from "./finding-id.js";
import { readLength, readMass, readNumber, written } from "./number.js";

const $ = (id) => document.getElementById(id);
const dark = matchMedia("(prefers-color-scheme: dark)");
const theme = () => document.documentElement.dataset.look || (dark.matches ? "dark" : "light");
// The value of a field, or an error in words; undefined where nothing was typed and nothing is needed.
function valued(field, read, words, needed = false) {
  const found = read(words);
  if (found.empty && !needed) return undefined;
  if (found.value === null) {
    field.focus();
    throw new Error(found.words);
  }
  return found.value;
}
const away = (error) =>
  error instanceof Away ? "The station does not answer; try again when it does." : error.message;

const LEAST =
  "Contested: the readings of this day contradict one another. Each figure is the least of the answers, whichever of them is right.";

export function more(day, the) {
  const { plan, now, show, make } = the;
  let map = null,
    timer = 0,
    turn = 0;
  const scenario = (state) => (the.touched() ? { scenario: the.wanted() } : { state });

  // ---- the load map ----

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
        json: { ...scenario(now.state), on, grid: [96, 40], ...(item === undefined ? {} : { item }) },
      });
      if (mine !== turn || !$("map").checked) return; // a later question is on its way
      map = data;
      plan.map(data);
      legend(data);
      the.used("map-part");
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

  // ---- how much trailer ----

  function drawing(figure) {
    if (!figure.dataset.drawing) return;
    const url = new URL(figure.dataset.drawing, location.href);
    url.searchParams.set("theme", theme());
    let image = figure.querySelector("img");
    if (!image) image = figure.appendChild(Object.assign(document.createElement("img"), { width: 1600, height: 900 }));
    image.alt = figure.dataset.alt;
    if (image.src !== url.href) image.src = url.href;
  }
  const redraw = () => drawing($("trailer-drawing"));
  document.addEventListener("look", redraw);
  dark.addEventListener("change", redraw);

  $("trailer")?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const [from, , coupling] = $("trailer-from").value.split("/"),
      says = $("trailer-says");
    says.textContent = "Asking the station …";
    try {
      const share = valued(
        $("trailer-share"),
        (words) => readNumber($("trailer-share").value.replace("%", ""), words),
        "Share on the coupling: type a number of percent.",
      );
      const gross = valued(
        $("trailer-gross"),
        (words) => readMass($("trailer-gross").value, day.unit, words),
        "Gross: type a mass, or nothing.",
      );
      const { data } = await call("POST", day.links.trailer, { json: { from, at: coupling }, wait: 20000 });
      const figure = $("trailer-drawing");
      figure.dataset.drawing = `/days/${day.day}/ask/trailer.svg?from=${encodeURIComponent(from)}&at=${encodeURIComponent(coupling)}`;
      figure.dataset.alt =
        "Chart: largest gross trailer mass over the share of it on the coupling; the text beside it holds the same figures";
      figure.hidden = false;
      drawing(figure);
      says.replaceChildren(...trailerWords(data, share, gross).map((words) => make("p", words)));
      the.used("trailer");
    } catch (error) {
      says.textContent = away(error);
    }
  });

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

  // ---- put it right ----

  function movables() {
    const box = $("right-items"),
      was = new Map([...box.querySelectorAll("input")].map((input) => [input.value, input.checked]));
    const rows = now.model.data.items
      .filter((item) => now.cargo.get(item.name)?.aboard && !the.fixed(item.name))
      .map((item) => {
        const input = make("input", "", {
          type: "checkbox",
          value: item.name,
          checked: was.get(item.name) ?? (item.movable || Boolean(item.level)),
        });
        const label = make("label");
        label.append(input, `${item.title}${item.level ? ", a tank" : ""}`);
        return label;
      });
    const names = [...now.cargo].filter(([name, at]) => at.aboard && !now.first.has(name)).map(([name]) => name);
    for (const name of names) {
      const label = make("label");
      label.append(
        make("input", "", { type: "checkbox", value: name, checked: was.get(name) ?? true }),
        `${name}, new`,
      );
      rows.push(label);
    }
    settings();
    box.replaceChildren(...rows);
    $("right-none").hidden = rows.length > 0;
  }

  // What may be set rather than lifted, for each trailer that is hitched.
  function settings() {
    const box = $("right-settings"),
      names = the.hitched();
    $("right-set").hidden = names.length === 0;
    if (box.dataset.of === names.join("|")) return;
    box.dataset.of = names.join("|");
    box.replaceChildren(
      ...names.flatMap((name) => [
        field(`couple-${name}`, `Couple of the bars of ${day.titles[name]}, from none to`, day.couple, {
          couple: name,
        }),
        field(`shift-${name}`, `Coupling of ${day.titles[name]}, either way by`, day.length, { shift: name }),
      ]),
    );
  }

  function field(id, words, unit, data) {
    const box = make("div", "", { className: "field" }),
      label = make("label", `${words} `, { htmlFor: id }),
      input = make("input", "", { id, inputMode: "decimal", autocomplete: "off" });
    label.append(make("span", unit, { className: "soft" }));
    Object.assign(input.dataset, data);
    box.append(label, input);
    return box;
  }

  function ranges() {
    const found = { couple: {}, shift: {} };
    for (const input of $("right-settings").querySelectorAll("input")) {
      const read = (words) =>
        input.dataset.couple ? readNumber(input.value, words) : readLength(input.value, day.length, words);
      const words = `${input.labels[0].textContent}: a number above zero, or nothing.`,
        value = valued(input, read, words);
      if (value === undefined) continue;
      if (!(value > 0)) {
        input.focus();
        throw new Error(words);
      }
      if (input.dataset.couple) found.couple[input.dataset.couple] = [`0 ${day.couple}`, `${value} ${day.couple}`];
      else found.shift[input.dataset.shift] = [-value, value];
    }
    return found;
  }

  $("right").addEventListener("submit", async (event) => {
    event.preventDefault();
    movables();
    const boxes = [...$("right-items").querySelectorAll("input")],
      says = $("right-says");
    const move = boxes.filter((box) => box.checked && !now.model.items.get(box.value)?.level).map((box) => box.value);
    const keep = boxes.filter((box) => !box.checked).map((box) => box.value);
    says.replaceChildren(make("p", "Looking for the least …"));
    $("right-go").disabled = true;
    try {
      const { data } = await call("POST", day.links.rebalance, {
        json: { ...scenario(now.state), move, keep, no_drop: $("right-no-drop").checked, ...ranges() },
        wait: 90000,
      });
      const same =
        JSON.stringify([data.actions, data.settings]) ===
        JSON.stringify([data.fewest_items.actions, data.fewest_items.settings]);
      says.replaceChildren(
        ...remedy(same ? "Least mass, and fewest items" : "Least mass", data),
        ...(same || data.status === "impossible" ? [] : remedy("Fewest items", data.fewest_items)),
      );
      if (data.status !== "impossible") arrows(data.actions);
      the.used("right");
    } catch (error) {
      says.replaceChildren(make("p", away(error)));
    }
    $("right-go").disabled = false;
  });

  function remedy(title, data) {
    const box = make("div", "", { className: `note ${data.status === "impossible" ? "alarm" : ""}` });
    if (data.status === "impossible") {
      box.append(make("h3", "Impossible with these"), make("p", data.reason.replace(/[\w-]+\/\S+:\w+/g, the.labelOf)));
      return [box];
    }
    box.append(
      make(
        "h3",
        `${title}: ${data.actions.length ? `${show(data.moved_mass, 0)} ${day.unit}` : data.settings.length ? "nothing to lift" : "nothing to do"}`,
      ),
    );
    if (data.contested)
      box.append(
        make(
          "p",
          "Contested: the readings of this day contradict one another. This brings every limit within whichever of them is right.",
        ),
      );
    if (data.status === "feasible") box.append(make("p", "Found, not proved to be the least."));
    if (!data.actions.length && !data.settings.length) {
      box.append(
        make(
          "p",
          data.verdicts.some((one) => one.verdict === null)
            ? "Every limit that is judged is kept at 95 % as it is."
            : "Every limit is kept at 95 % as it is.",
        ),
      );
      return [box];
    }
    const list = make("ol", "", { className: "steps" });
    list.append(...data.actions.map((action) => make("li", act(action))));
    for (const setting of data.settings)
      list.append(
        make("li", `Set the ${setting.setting} of ${setting.trailer} to ${show(setting.value, 1)} ${setting.unit}`),
      );
    const row = make("div", "", { className: "row" });
    row.append(
      make("button", "Show it on the plan", {
        type: "button",
        onclick: () => {
          arrows(data.actions);
          $("plan").scrollIntoView({ block: "start" });
        },
      }),
      make("button", "Try it", {
        type: "button",
        onclick: () => {
          the.apply(data.actions);
          arrows([]);
          $("board").scrollIntoView({ block: "center" });
        },
      }),
    );
    box.append(list);
    if (data.settings.length)
      box.append(
        make(
          "p",
          "A setting is for your hands: the plan shows what is moved, not what is set. Weigh again when it is set.",
          { className: "soft" },
        ),
      );
    if (data.actions.length) box.append(row);
    return [box];
  }

  function act(action) {
    const name = the.titleOf(action.cargo),
      mass = `${show(action.mass, 0)} ${day.unit}`;
    if (action.action === "move")
      return `Move ${name} (${mass}) to ${show(action.to.x, 0)} ${day.length} back, ${action.to.y === 0 ? "in the middle" : `${show(Math.abs(action.to.y), 0)} ${day.length} ${action.to.y > 0 ? "left" : "right"}`}`;
    return action.action === "drain"
      ? `Drain ${show(Math.ceil(action.mass))} ${day.unit} of ${name}`
      : `Leave ${name} (${mass}) behind`;
  }

  function arrows(actions) {
    plan.arrows(
      actions
        .filter((action) => now.cargo.has(action.cargo))
        .map((action) => {
          const at = now.cargo.get(action.cargo);
          return { on: at.on, from: [at.x, at.y], to: action.to ? [action.to.x, action.to.y] : null };
        }),
    );
  }

  // ---- weight distribution ----

  const figure = (found, digits = 0) =>
    found?.value === null || found === null || found === undefined
      ? "not determined"
      : `${show(found.value, digits)} ${found.unit}${found.u ? `, 95 % interval ${show(found.low, digits)} to ${show(found.high, digits)}` : ""}`;

  $("bars")?.addEventListener("submit", async (event) => {
    event.preventDefault();
    const says = $("bars-says");
    says.replaceChildren(make("p", "Asking the station …"));
    try {
      const part = valued(
        $("bars-part"),
        (words) => readNumber($("bars-part").value.replace("%", ""), words),
        "Part to restore: type a number of percent, or nothing.",
      );
      const { data } = await call("POST", day.links.distribute, {
        json: { state: $("bars-state").value, ...(part === undefined ? {} : { restore: `${part} %` }) },
        wait: 20000,
      });
      says.replaceChildren(...barsWords(data));
      the.used("bars");
    } catch (error) {
      says.replaceChildren(make("p", away(error)));
    }
  });

  function barsWords(data) {
    const lines = [`Front axle load restored: ${figure(data.restored, 1)}.`, `The couple: ${figure(data.couple)}.`];
    for (const change of data.changes)
      if (["axle", "axles", "load"].includes(parse(change.id).kind) && change.value !== null)
        lines.push(
          `${change.label.slice(change.label.indexOf(": ") + 2)}: ${change.value < 0 ? "−" : "+"}${show(Math.abs(change.value))} ${change.unit} by the couple.`,
        );
    lines.push(...data.missing);
    const rows = lines.map((words) => make("p", words)),
      setting = data.setting;
    if (!setting) return rows;
    const box = make("div", "", { className: setting.warnings.length ? "note alarm" : "note" });
    box.append(
      make("h3", `To restore ${show(setting.restore, 1)} %`),
      make(
        "p",
        `Set the couple to ${figure(setting.couple)}${setting.multiple && setting.multiple.value !== null ? `; that is ${show(setting.multiple.value)} % of the present one` : ""}.`,
      ),
      ...setting.warnings.map((words) => make("p", words)),
      make("p", "A prediction with the couple taken as exact: set it, weigh again, and trust the scales.", {
        className: "soft",
      }),
    );
    return [...rows, box];
  }

  // ---- what is aboard, added up ----

  const HOW = { stated: "stated", tank: "tank level", difference: "by difference", weighed: "weighed" };

  $("ledger-go").addEventListener("click", async () => {
    const says = $("ledger-says");
    says.replaceChildren(make("p", "Asking the station …"));
    try {
      const { data } = await call("POST", day.links.ledger, { json: { state: now.state }, wait: 20000 });
      says.replaceChildren(
        make("p", `As weighed in ${data.state}.`, { className: "soft" }),
        ...data.vehicles.map(account),
        ...data.cautions
          .filter((words) => !day.standing.includes(words))
          .map((words) => make("p", words, { className: "note doubt" })),
      );
    } catch (error) {
      says.replaceChildren(make("p", away(error)));
    }
  });

  function account(data) {
    const box = make("div", "", { className: "scroll", tabIndex: 0 }),
      sheet = make("table"),
      head = make("tr"),
      body = make("tbody"),
      thead = make("thead");
    box.setAttribute("role", "region");
    box.setAttribute("aria-label", `What is aboard: ${day.titles[data.vehicle]}`);
    const caption = make("caption", day.titles[data.vehicle]);
    for (const words of ["what", day.unit, "95 %", "how known"]) head.append(make("th", words, { scope: "col" }));
    const line = (words, found, how, strong) => {
      const row = make("tr", "", { className: strong ? "strong" : "" });
      row.append(make("th", words, { scope: "row" }));
      if (found.value === null) row.append(make("td", "not determined", { colSpan: 2, className: "words" }));
      else
        row.append(make("td", show(found.value)), make("td", found.u ? `± ${show((found.high - found.low) / 2)}` : ""));
      row.append(make("td", how, { className: "how" }));
      body.append(row);
    };
    for (const item of data.items) line(item.name, item.mass, HOW[item.source] ?? item.source, false);
    line("sum", data.sum, "", true);
    line("gross", data.gross, "weighed", true);
    if (data.rest)
      line(
        "not explained",
        data.rest.mass,
        data.rest.mass.value !== null && data.rest.mass.low <= 0 && data.rest.mass.high >= 0
          ? "within the doubt"
          : "gross less sum",
        true,
      );
    thead.append(head);
    sheet.append(caption, thead, body);
    box.append(sheet);
    return box;
  }

  return {
    begin() {
      clearTimeout(timer);
      $("ledger-says").replaceChildren();
      $("right-says").replaceChildren();
      movables();
      map = null;
    },
    settled() {
      movables();
      if ($("map").checked) {
        clearTimeout(timer);
        timer = setTimeout(drawMap, 50);
      }
    },
    tap,
  };
}
