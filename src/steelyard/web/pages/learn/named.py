"""Sentences of a log with the vehicles' names in them, where the program's own say the short ids of the file."""

from __future__ import annotations

import re
from collections.abc import Callable

from steelyard.model import WeighDay

_LONGEST = 40  # letters of a name inside a sentence, as in the scripts


def state_words(state: str) -> str:
    """The name of a state as it is read."""
    return state.replace("_", " ")


def named(day: WeighDay) -> Callable[[str], str]:
    """Make a function that writes the names of the day's vehicles into a sentence.

    An id is one only where a place follows it, as in ``truck/1L`` and ``truck axle 1``, or where the sentence speaks of
    a vehicle; it may be a word of the sentence too.
    """
    titles = {name: _shortened(vehicle.title) for name, vehicle in day.vehicles.items()}
    if not titles:
        return lambda text: text
    ids = "|".join(re.escape(name) for name in sorted(titles, key=len, reverse=True))
    followed = re.compile(rf"(?<![\w/-])({ids})(?:/(?=\w)| (?=axle\b|coupling\b|\d+[LR]?\b))")
    spoken_of = re.compile(rf"\b(along|across|onto|of|off|on) ({ids})(?![\w/-])")

    def say(text: str) -> str:
        text = followed.sub(lambda found: f"{titles[found[1]]} ", text)
        return spoken_of.sub(lambda found: f"{found[1]} {titles[found[2]]}", text)

    return say


def _shortened(title: str) -> str:
    return title if len(title) <= _LONGEST else f"{title[: _LONGEST - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"
