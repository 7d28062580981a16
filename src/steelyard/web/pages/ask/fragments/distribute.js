// Weight distribution: what the bars give back, and how to set them, in words.

import { parse } from "./finding-id.js";

/** @type {(the: Page.Asker) => Page.AskScript} */
export default function distribute({ show, make }) {
  /** @type {(found: Api.Finding | null, digits?: number) => string} */
  const figure = (found, digits = 0) =>
    !found || found.value === null
      ? "not determined"
      : `${show(found.value, digits)} ${found.unit}${interval(found, digits)}`;
  /** @type {(found: Api.Finding, digits: number) => string} */
  const interval = ({ u, low, high }, digits) =>
    u && low !== null && high !== null ? `, 95 % interval ${show(low, digits)} to ${show(high, digits)}` : "";

  /** @type {(data: Api.Distribution) => Node[]} */
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
    const box = make("div", "", setting.warnings.length ? "note alarm" : "note");
    box.append(
      make("h3", `To restore ${show(setting.restore, 1)} %`),
      make(
        "p",
        `Set the couple to ${figure(setting.couple)}${setting.multiple && setting.multiple.value !== null ? `; that is ${show(setting.multiple.value)} % of the present one` : ""}.`,
      ),
      ...setting.warnings.map((words) => make("p", words)),
      make("p", "A prediction with the couple taken as exact: set it, weigh again, and trust the scales.", "soft"),
    );
    return [...rows, box];
  }

  return { show: barsWords };
}
