"""The spoken forms of a quantity: units in words, digits of other scripts, fractions in one letter.

Only where a person types it; in files the vocabulary stays closed. ``number.js`` of the weigh station follows the same
rules. Sources: Unicode 15, property Nd (digits); Unicode CLDR 44, numbers of ``ar`` and ``fa`` (the Arabic decimal and
thousands separators, marks of direction beside the minus); both from memory.
"""

from __future__ import annotations

import re

from steelyard.units.quantity import Dimension

_ZEROS = (
    0x0660, 0x06F0, 0x07C0, 0x0966, 0x09E6, 0x0A66, 0x0AE6, 0x0B66, 0x0BE6, 0x0C66, 0x0CE6, 0x0D66, 0x0DE6, 0x0E50,
    0x0ED0, 0x0F20, 0x1040, 0x17E0, 0x1810, 0xFF10,
)  # fmt: skip
_DIGITS = {zero + digit: (zero, str(digit)) for zero in _ZEROS for digit in range(10)}
_FRACTIONS = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_UNSEEN = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")  # marks of direction
_SPACE = re.compile("[\u2000-\u2006\u2008\u200a\u205f\u3000]")
_ARABIC_FRACTION = re.compile(r"(?<=\d)\u066b(\d{3})(?!\d)")
_PLAIN = str.maketrans({
    "\u066b": ".", "\u066c": "\u2019", "\u066a": "%", "\u2018": "\u2019", "\u2044": "/", "\u2215": "/", "\uff0e": ".",
    "\uff0c": ",",
})  # fmt: skip
_TONS = re.compile(r"\b(short|us|long|uk|imperial|metric)[ -]?tons?\b", re.IGNORECASE)
_TON = {"short": "short_ton", "us": "short_ton", "long": "long_ton", "uk": "long_ton", "imperial": "long_ton"}

TONS = (("lb", 2000.0), ("lb", 2240.0), ("kg", 1000.0))
"""A ton where nobody says which: short, long or metric (NIST SP 811, Appendix B)."""

_SPOKEN = {
    Dimension.MASS: {
        "lb": "lb lbs pound pounds #",
        "oz": "oz ounce ounces",
        "kg": "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
        "g": "g gram grams gramme grammes",
        "t": "t tonne tonnes",
    },
    Dimension.LENGTH: {
        "in": "in inch inches \" \u2033 \u201d '' \u2019\u2019",
        "ft": "ft foot feet ' \u2032 \u2019",
        "m": "m metre metres meter meters",
        "cm": "cm centimetre centimetres centimeter centimeters",
        "mm": "mm millimetre millimetres millimeter millimeters",
    },
}
_WORDS = {
    dimension: {word: (symbol, 1.0) for symbol, words in symbols.items() for word in words.split()}
    for dimension, symbols in _SPOKEN.items()
}
_WORDS[Dimension.MASS] |= {"short_ton": TONS[0], "long_ton": TONS[1]}


def plain_text(text: str) -> str:
    """The text in the letters that a number is read from: digits 0 to 9, fractions with a stroke, one word a ton.

    Digits of one script are digits; where a text mixes scripts it stays as it is, and is no number.
    """
    text = _SPACE.sub(" ", _UNSEEN.sub("", text))
    text = re.sub(r"(\d)?([½¼¾⅛⅜⅝⅞])", lambda found: f"{found[1] or ''} {_FRACTIONS[found[2]]}".strip(), text)
    scripts = {_DIGITS[ord(letter)][0] for letter in text if ord(letter) in _DIGITS}
    scripts |= {0 for letter in text if letter.isascii() and letter.isdecimal()}
    if len(scripts) == 1:
        text = "".join(_DIGITS[ord(letter)][1] if ord(letter) in _DIGITS else letter for letter in text)
    # an Arabic decimal mark groups nothing: a nought more, and the fraction is read as nothing else
    text = _ARABIC_FRACTION.sub(r".\g<1>0", text).translate(_PLAIN)
    text = re.sub("^([ ]*)\u2013", r"\1-", text)  # a dash that a telephone made of a minus
    return _TONS.sub(lambda found: _TON.get(found[1].lower(), "t"), text)


def is_any_ton(word: str, dimension: Dimension) -> bool:
    """Whether the word is a ton of which nobody says which it is."""
    return dimension is Dimension.MASS and word.casefold() in ("ton", "tons")


def unit_of_word(word: str, dimension: Dimension) -> tuple[str, float]:
    """The symbol that a word stands for, and how many of it; a word that is not known stays."""
    return _WORDS.get(dimension, {}).get(word.casefold().rstrip("."), (word, 1.0))
