"""Things of a weigh day on one line: what a draft read and where, what a correction set, what a block of text adds."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from typing import Any, cast

from steelyard.dayfile import Part
from steelyard.model import Correction, Draft, WeighDay
from steelyard.units import Dimension

_MOST = 200  # letters of a line


def draft_words(day: WeighDay, draft: Draft) -> str:
    """``solo: tow/1L 2960 (p1), tow/1R 2980 (p2)``, in the units of the file."""
    readings = [f"{item.place.text} {_mass(day, item.value)} ({item.instrument})" for item in draft.readings]
    return _one_line(f"{draft.state}: {', '.join(readings)}")


def correction_words(day: WeighDay, item: Correction) -> str:
    """``draft 2, tow/1L: 2980, digits swapped``."""
    if item.state is not None:
        return _one_line(_state_words(item.state, item.label, item.away, item.reason))
    if item.label is not None:
        return _one_line(f"draft {item.draft}: called {item.label!r}, {item.reason}")
    value = "set aside" if item.value is None else _mass(day, item.value)
    return _one_line(f"draft {item.draft}, {item.place}: {value}, {item.reason}")


def _state_words(state: str, label: str | None, away: bool | None, reason: str) -> str:
    what = "put away" if away else "brought back" if label is None else f"called {label!r}"
    return f"state {state}: {what}, {reason}"


def _mass(day: WeighDay, value: float) -> str:
    return f"{day.units.show(value, Dimension.MASS):.10g}"


def block_words(kind: str, key: str, text: str) -> str:
    """The block of an addition, or what lies beside the text, on one line; the text may be damaged."""
    if kind == "day":
        return "the day as it was imported"
    if kind in ("picture", "photo", "log", "seal"):
        digest = f"SHA-256 {key[:12]}"
        return _one_line({"picture": digest, "photo": f"of draft {key}", "log": key, "seal": digest}[kind])
    try:
        section = tomllib.loads(text)[kind]
        return _one_line(_WORDS.get(str(kind), _named)(section))
    except (tomllib.TOMLDecodeError, LookupError, TypeError, ValueError, AttributeError, RecursionError):
        return _one_line(text)


def _of_draft(section: Any) -> str:
    (draft,) = section
    readings = [f"{place} {shown} ({instrument})" for place, (instrument, shown) in draft["readings"].items()]
    return f"{draft['state']}: {', '.join(readings)}"


def _of_correction(section: Any) -> str:
    (item,) = section
    if "state" in item:
        return _state_words(item["state"], item.get("label"), item.get("away"), item["reason"])
    if "label" in item:
        return f"draft {item['draft']}: called {item['label']!r}, {item['reason']}"
    return f"draft {item['draft']}, {item['place']}: {item.get('value', 'set aside')}, {item['reason']}"


def _of_photograph(section: Any) -> str:
    (item,) = section
    place = f", {item['place']}" if "place" in item else ""
    return f"of draft {item['draft']}{place}, SHA-256 {item['sha256'][:12]}"


def _of_choice(section: Any) -> str:
    (item,) = section
    return "; ".join(f"{key}: {_plain(value)}" for key, value in item.items())


def _of_title(section: Any) -> str:
    (item,) = section
    return str(item["title"])


def _plain(value: Any) -> str:
    items: list[Any] = cast(list[Any], value) if isinstance(value, list) else [value]
    return " ".join("…" if isinstance(item, dict) else str(item) for item in items)


def _named(section: Any) -> str:
    ((name, said),) = section.items()
    values = [f"{key} {_plain(value)}" for key, value in said.items() if not isinstance(value, dict)]
    return f"{name}: {', '.join(values)}" if values else name


_WORDS: Mapping[str, Callable[[Any], str]] = {
    Part.DRAFT: _of_draft,
    Part.CORRECTION: _of_correction,
    Part.PHOTOGRAPH: _of_photograph,
    Part.CHOICE: _of_choice,
    Part.TITLE: _of_title,
}


def _one_line(text: str) -> str:
    plain = "".join(letter if letter.isprintable() else " " for letter in text[: _MOST * 2])
    short = " ".join(plain.split())
    return short if len(short) <= _MOST else f"{short[: _MOST - 1]}…"
