"""Questions that the examples leave open, and the one further example that would settle each."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from steelyard.capture.line import Chars, mass_unit
from steelyard.capture.roles import Casting, Label, last_digits

_WORD = re.compile("[A-Za-z]{2,}")


def doubts(castings: Sequence[Casting], labels: Sequence[Label]) -> Iterator[str]:
    """Questions about the first casting, in view of the others that fit as well."""
    best = castings[0]
    for other in castings[1:]:
        yield from _between(best, other)
    rivals = {other.layout.slots[slot].words for other in castings[1:] for slot in other.marks.values()}
    yield from _unexplained(best, rivals)
    yield from _too_little(best, labels)


def open_questions(lines: Mapping[int, str], labels: Sequence[Label]) -> Iterator[str]:
    """Why nothing was found, as what to say or paste next."""
    named = any(mass_unit(word) is not None for line in lines.values() for word in _WORD.findall(line))
    if not named and all(label.unit is None for label in labels):
        yield "Say in which unit the box shows."
        return
    for label in labels:
        digits = f"{label.value:g}" if label.value is not None else ""
        if digits and digits.lstrip("-").replace(".", "") not in "".join(filter(str.isdigit, lines[label.line])):
            yield f"Line {label.line + 1} does not hold {digits}; was the display read at another moment?"
    channels = {label.channel for label in labels if label.channel is not None}
    if len(channels) > 1:
        yield f"Nothing in the lines tells {_listed(sorted(channels))} apart; paste one more line of each."
    yield "No pattern reads all of these lines as said; check the values, or leave out the line that differs most."


def _between(best: Casting, other: Casting) -> Iterator[str]:
    """The difference between two castings."""
    for channel in best.values:
        if channel not in other.values:
            continue
        here, there = (_where(casting, channel) for casting in (best, other))
        whose = f" of {channel}" if channel else ""
        if here != there:
            yield (
                f"The value{whose} may be {here} or {there}. Paste a line in which the two differ, "
                "with another load or a tare set, and say what was shown."
            )
        elif best.values[channel][1] != other.values[channel][1]:
            yield f"The value{whose} may have a point that is not written. Paste a line with a load that ends in no 0."
    for channel, slot in best.marks.items():
        rival = other.marks.get(channel)
        if rival is not None and rival != slot:
            one, two = (_spoken(casting, place) for casting, place in ((best, slot), (other, rival)))
            yield f"Steady may be told by {one} or by {two}. Paste a line in which only one of them changes."
    if best.channel is not None and other.channel is not None and best.channel != other.channel:
        one, two = (_spoken(casting, casting.channel or 0) for casting in (best, other))
        yield f"The channel may be told by {one} or by {two}. Paste one more line of each channel."


def _unexplained(best: Casting, rivals: set[tuple[str, ...]]) -> Iterator[str]:
    """Words that change and that nobody explained; a rival of the mark is asked about already."""
    used = {slot for slot, _ in best.values.values()} | set(best.units) | set(best.marks.values()) | {best.channel}
    for place, slot in enumerate(best.layout.slots):
        if (
            place not in used
            and slot.words not in rivals
            and slot.chars in (Chars.LETTERS, Chars.SIGN)
            and 1 < len(slot.words) <= 4
        ):
            yield (
                f"{_spoken(best, place)} take turns, and nobody said why. If that tells steady from moving, or one "
                "channel from another, say so for a line with each."
            )


def _too_little(best: Casting, labels: Sequence[Label]) -> Iterator[str]:
    valued = [label for label in labels if label.value is not None]
    if len({label.value for label in valued}) == 1:
        yield "Only one load was shown. One more line with another load makes sure that it is the number and no other."
    if not best.marks and not any(label.steady is False for label in labels):
        yield "No line was said to be moving. If the box marks that, paste a line taken while the load moves."
    if best.layout.by_columns:
        yield "The columns of the number were counted. A line with a much larger load would show whether it is wider."


def _where(casting: Casting, channel: str) -> str:
    """The text that a value is taken from in the first line, and where it stands."""
    slot = casting.layout.slots[casting.values[channel][0]]
    text = slot.texts[0].strip("+- ")
    return f"{text!r} ending at character {last_digits(slot)[0]} of line {casting.layout.lines[0] + 1}"


def _spoken(casting: Casting, place: int) -> str:
    words = casting.layout.slots[place].words
    return _listed([repr(word) if word else "nothing" for word in words])


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
