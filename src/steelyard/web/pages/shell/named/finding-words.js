// The name of a finding as people say it: "hitched: axle 1 of Oven trailer".

import { parse } from "./finding-id.js";
import { called, isolated, stateWords } from "./place-words.js";

/** @type {Record<string, string>} */
const WORDS = {
  gross: "total",
  load: "load",
  payload: "payload",
  share: "share on the coupling",
  front_share: "share on the front axle",
  left_share: "share on the left",
  cg_x: "centre of gravity, along",
  cg_y: "centre of gravity, across",
};

/** @type {(titles: Record<string, string>, id: string) => string} */
export function findingWords(titles, id) {
  const { states, owner, kind, place } = parse(id);
  const where = states.length ? `${states.map(stateWords).join(" to ")}: ` : "";
  if (owner === "coupling") return `${where}${kind === "load" ? "load on the coupling" : (WORDS[kind] ?? plain(kind))}`;
  const title = owner === "combination" ? "the whole rig" : isolated(titles[owner] ?? plain(owner));
  if (kind === "wheel" || kind === "axle") return `${where}${called(titles, `${owner}/${place}`)}`;
  if (kind === "side") return `${where}${place === "L" ? "left" : "right"} side of ${title}`;
  return `${where}${WORDS[kind] ?? plain(kind)} of ${title}`;
}

/** @type {(words: string) => string} */
const plain = (words) => words.replaceAll("_", " ");
