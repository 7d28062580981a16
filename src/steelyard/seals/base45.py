"""Bytes in the letters of a QR code's alphanumeric mode.

Source: RFC 9285, the Base45 data encoding.
"""

from __future__ import annotations

LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
_VALUES = {letter: value for value, letter in enumerate(LETTERS)}
_BASE = len(LETTERS)


class Base45Error(ValueError):
    """A text that is no Base45; the message says where."""


def base45(data: bytes) -> str:
    """The text of some bytes: three letters for two bytes, two for a last one."""
    letters: list[str] = []
    for at in range(0, len(data), 2):
        number, count = int.from_bytes(data[at : at + 2]), 3 if at + 1 < len(data) else 2
        for _ in range(count):
            number, value = divmod(number, _BASE)
            letters.append(LETTERS[value])
    return "".join(letters)


def from_base45(text: str) -> bytes:
    """The bytes of a text.

    Raises
    ------
    Base45Error: a letter of another alphabet, a length that no text has, or three letters that exceed two bytes.
    """
    try:
        values = [_VALUES[letter] for letter in text]
    except KeyError as error:
        raise Base45Error(f"has the letter {error.args[0]!r}, which Base45 does not have") from None
    if len(values) % 3 == 1:
        raise Base45Error(f"has {len(values)} letters; one is missing or one too many")
    data = bytearray()
    for at in range(0, len(values), 3):
        group = values[at : at + 3]
        number = sum(value * _BASE**power for power, value in enumerate(group))
        size = len(group) - 1
        if number >= 256**size:
            raise Base45Error(f"has letters that no bytes have, at letter {at + 1}")
        data += number.to_bytes(size)
    return bytes(data)
