// What an instrument can show: the station takes no other reading, so none is offered to it.

const NOISE = 1e-6; // of a division: what decimal fractions lose in binary

// Why `value` cannot stand on the display of `box`, and what would be right; null where it can.
/** @type {(name: string, box: Page.Instrument | undefined, value: number, how: { unit: string, format: (value: number) => string, hand?: boolean }) => string | null} */
export function impossible(name, box, value, { unit, format, hand = true }) {
  if (!box) return null;
  if (box.capacity !== null && value > box.capacity)
    return `${name} carries ${format(box.capacity)} ${unit} at most, so it cannot show ${format(value)}.`;
  if (!(box.division > 0)) return null;
  const count = value / box.division;
  if (Math.abs(count - Math.round(count)) <= NOISE) return null;
  const near = [Math.floor(count), Math.ceil(count)].map((steps) => format(steps * box.division));
  if (!hand)
    return `${name} sends ${format(value)}, but the day says that it shows steps of ${format(box.division)} ${unit}. Put the day right, or type what it shows.`;
  return `${name} shows steps of ${format(box.division)}: ${near.join(" or ")}, not ${format(value)}.`;
}
