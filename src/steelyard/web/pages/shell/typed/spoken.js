// What people type beyond symbols: units in words, digits of other scripts, fractions in one letter. The same rules as
// units/spoken.py; tests/units/numbers.json holds both to them.

const ZEROS = [
  0x0660, 0x06f0, 0x07c0, 0x0966, 0x09e6, 0x0a66, 0x0ae6, 0x0b66, 0x0be6, 0x0c66, 0x0ce6, 0x0d66, 0x0de6, 0x0e50,
  0x0ed0, 0x0f20, 0x1040, 0x17e0, 0x1810, 0xff10,
];
/** @type {Record<string, string>} */
const FRACTIONS = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
/** @type {Record<string, string>} */
const PLAIN = {
  "\u066b": ".",
  "\u066c": "\u2019",
  "\u066a": "%",
  "\u2018": "\u2019",
  "\u2044": "/",
  "\u2215": "/",
  "\uff0e": ".",
  "\uff0c": ",",
};
/** @type {Record<string, string>} */
const TON = { short: "short_ton", us: "short_ton", long: "long_ton", uk: "long_ton", imperial: "long_ton" };

// A ton where nobody says which: short, long or metric.
/** @type {[string, number][]} */
export const TONS = [
  ["lb", 2000],
  ["lb", 2240],
  ["kg", 1000],
];

/** @type {Record<string, Record<string, string>>} */
const SPOKEN = {
  mass: {
    lb: "lb lbs pound pounds #",
    oz: "oz ounce ounces",
    kg: "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
    g: "g gram grams gramme grammes",
    t: "t tonne tonnes",
  },
  length: {
    in: "in inch inches \" \u2033 \u201d '' \u2019\u2019",
    ft: "ft foot feet ' \u2032 \u2019",
    m: "m metre metres meter meters",
    cm: "cm centimetre centimetres centimeter centimeters",
    mm: "mm millimetre millimetres millimeter millimeters",
  },
};

// The zero of the script that a digit is of; undefined where it is none, or one of 0 to 9.
/** @type {(letter: string) => number | undefined} */
const zeroOf = (letter) => {
  const code = letter.codePointAt(0) ?? 0;
  return ZEROS.find((zero) => zero <= code && code < zero + 10);
};

// The text in the letters that a number is read from. A text that mixes digits of several scripts stays, and is no number.
/** @type {(text: string) => string} */
export function plainText(text) {
  let made = text
    .replace(/[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/gu, "")
    .replace(/[\u2000-\u2006\u2008\u200a\u205f\u3000]/gu, " ")
    .replace(/(\p{Nd})?([½¼¾⅛⅜⅝⅞])/gu, (_, digit, fraction) => `${digit ?? ""} ${FRACTIONS[fraction]}`.trim());
  const scripts = new Set([...made].flatMap((letter) => (/[0-9]/.test(letter) ? 0 : (zeroOf(letter) ?? []))));
  if (scripts.size === 1)
    made = made.replace(/\p{Nd}/gu, (letter) => {
      const zero = zeroOf(letter);
      return zero === undefined ? letter : String((letter.codePointAt(0) ?? 0) - zero);
    });
  return made
    .replace(/(?<=\p{Nd})\u066b(\p{Nd}{3})(?!\p{Nd})/gu, ".$10")
    .replace(/[\u066a-\u066c\u2018\u2044\u2215\uff0e\uff0c]/gu, (letter) => PLAIN[letter])
    .replace(/^( *)\u2013/u, "$1-")
    .replace(
      /(?<![\p{L}\p{N}_])(short|us|long|uk|imperial|metric)[ -]?tons?(?![\p{L}\p{N}_])/giu,
      (_, kind) => TON[kind.toLowerCase()] ?? "t",
    );
}

/** @type {(word: string, dimension: string) => boolean} */
export const isAnyTon = (word, dimension) => dimension === "mass" && /^tons?$/i.test(word);

// The symbol that a word stands for, and how many of it; a word that is not known stays.
/** @type {(word: string, dimension: string) => [string, number]} */
export function unitOfWord(word, dimension) {
  const plain = word.toLowerCase().replace(/\.+$/, "");
  if (dimension === "mass" && plain === "short_ton") return TONS[0];
  if (dimension === "mass" && plain === "long_ton") return TONS[1];
  const found = Object.entries(SPOKEN[dimension] ?? {}).find(([, words]) => words.split(" ").includes(plain));
  return [found ? found[0] : word, 1];
}
