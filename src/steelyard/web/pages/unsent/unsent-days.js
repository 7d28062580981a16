// The list of days, also as this device saw it last: the days that wait here for the station stand above it.

import { $, make } from "./dom.js";
import { onChange } from "./outbox.js";

const list = $("unsent-days");

onChange(({ rigs, items }) => {
  const since = performance.timeOrigin;
  const shown = rigs.filter((rig) => rig.what === "rig" || rig.made > since);
  list.hidden = shown.length === 0;
  list.replaceChildren(
    ...shown.map((rig) => {
      const drafts = items.filter((item) => item.what === "draft" && item.day === rig.day).length;
      const where =
        rig.what === "made"
          ? "is at the station now"
          : rig.refused
            ? "the station does not accept its rig: open it to put that right"
            : "on this device alone; the station makes the day once it is back";
      const card = make("li", "", "card first");
      card.append(
        make("h2", rig.title, { dir: "auto" }),
        make("p", drafts ? `${drafts} draft${drafts === 1 ? " waits" : "s wait"} here, ${where}` : where, "soft"),
        make("a", "At the pads", {
          className: "button main",
          href: rig.opens.replace("DAY", rig.what === "made" ? rig.as : rig.day),
        }),
      );
      card.lastElementChild?.append(make("span", `: ${rig.title}`, "unseen"));
      return card;
    }),
  );
});
