"""The choices for connected instruments: which taught pattern reads their lines, and which pad each channel is.

A channel without a choice is the pad of its own name, but only where no other channel could be meant: two boxes that
both speak of ``A`` are told apart as ``box1.A`` and ``box2.A`` and stand on no pad until a person says which is which.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any

from steelyard.dayfile import DayFileError
from steelyard.model import WeighDay
from steelyard.questions.form import Reading, read, written
from steelyard.questions.kinds import ByName, Word
from steelyard.store import Shelf, Store

LONGEST = 40
NAME = re.compile(rf"[A-Za-z0-9_-]{{1,{LONGEST}}}")
"""The allowed names of connected instruments, of patterns and of pads."""

_LONGEST_CHANNEL = 40
_MOST_PADS = 64


class WiringError(ValueError):
    """A choice that cannot be; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """The choices for an instrument. They are kept, and hold after a restart."""

    pattern: Annotated[
        str | None, Word("A taught pattern; left out or null: the one that has the instrument's own name.", LONGEST)
    ] = None
    pads: Annotated[
        Mapping[str, str],
        ByName("For channels as the instrument calls them, the pad or platform of the day.", Word("", LONGEST)),
    ] = field(default_factory=dict[str, str])

    def check(self, reading: Reading) -> None:
        """See that the channels can have their names, and that no pad is chosen for two of them."""
        if len(self.pads) > _MOST_PADS:
            reading.fault("pads", "", f"has {len(self.pads)} channels; an instrument has at most {_MOST_PADS}")
        for channel in self.pads:
            if not 0 < len(channel) <= _LONGEST_CHANNEL or not channel.isprintable():
                message = f"is not the name of a channel, which has 1 to {_LONGEST_CHANNEL} printable letters"
                reading.quote("pads", written(channel), message)
        for pad, count in Counter(self.pads.values()).items():
            if count > 1:
                reading.fault("pads", pad, "is chosen for two channels; a pad has one")

    def to_json(self) -> str:
        """As it is kept."""
        return json.dumps({"pattern": self.pattern, "pads": dict(self.pads)}, sort_keys=True)


def wiring_of(data: Mapping[str, Any]) -> Wiring:
    """A choice from its JSON value.

    Raises
    ------
    DayFileError: with every fault of it.
    """
    return read(Wiring, WeighDay(), data, source="wiring")


def read_wirings(store: Store) -> dict[str, Wiring]:
    """The choices so far, by instrument. Waits for the database."""
    found: dict[str, Wiring] = {}
    for kept in store.shelf(Shelf.WIRING):
        try:
            found[kept.name] = wiring_of(json.loads(kept.text))
        except (ValueError, AttributeError):
            continue  # of another version: as if nothing had been chosen
    return found


def given_wirings(instruments: Collection[str], patterns: Sequence[str], pads: Sequence[str]) -> dict[str, Wiring]:
    """The choices given at the start: ``INSTRUMENT=PATTERN``, ``INSTRUMENT/CHANNEL=PAD`` or, of one, ``CHANNEL=PAD``.

    Raises
    ------
    WiringError: no such instrument, a name that is not allowed, a choice given twice.
    """
    chosen: dict[str, str] = {}
    for text in patterns:
        name, sign, pattern = text.partition("=")
        if not sign or name not in instruments or not NAME.fullmatch(pattern) or name in chosen:
            message = f"{text!r} names no instrument and pattern; write {_names(instruments)}=PATTERN, each once"
            raise WiringError(message)
        chosen[name] = pattern
    placed: dict[str, dict[str, str]] = {}
    for text in pads:
        left, sign, pad = text.rpartition("=")
        name, slash, channel = left.partition("/")
        if not slash and len(instruments) == 1:
            name, channel = next(iter(instruments)), left
        if not sign or name not in instruments or channel in placed.get(name, {}):
            raise WiringError(f"{text!r} names no channel and pad; write {_names(instruments)}/CHANNEL=PAD, each once")
        placed.setdefault(name, {})[channel] = pad
    found = {name: _given(name, chosen.get(name), placed.get(name, {})) for name in {*chosen, *placed}}
    _refuse_doubled(found)
    return found


def _given(name: str, pattern: str | None, pads: Mapping[str, str]) -> Wiring:
    try:
        return wiring_of({"pattern": pattern, "pads": pads})
    except DayFileError as error:
        raise WiringError("; ".join(f"{name}: {fault}" for fault in error.faults)) from None


def _names(instruments: Collection[str]) -> str:
    return "|".join(instruments) or "INSTRUMENT"


def _refuse_doubled(wirings: Mapping[str, Wiring]) -> None:
    for pad, count in Counter(pad for wiring in wirings.values() for pad in wiring.pads.values()).items():
        if count > 1:
            raise WiringError(f"{pad} is chosen for two channels; a pad has one")


def together(kept: Mapping[str, Wiring], given: Mapping[str, Wiring]) -> dict[str, Wiring]:
    """The choices in force: those given at the start replace those made earlier."""
    said = {pad for wiring in given.values() for pad in wiring.pads.values()}
    found: dict[str, Wiring] = {}
    for name in {**kept, **given}:
        earlier, first = kept.get(name, Wiring()), given.get(name, Wiring())
        pads = {channel: pad for channel, pad in earlier.pads.items() if pad not in said} | dict(first.pads)
        found[name] = Wiring(earlier.pattern if first.pattern is None else first.pattern, pads)
    return found


class Routes:
    """Which pad a channel of an instrument is.

    Attributes
    ----------
    doubled: pads that were chosen for more than one channel: none of them gets it.
    """

    def __init__(
        self, channels: Mapping[str, Collection[str]] | None = None, wirings: Mapping[str, Wiring] | None = None
    ) -> None:
        known: Mapping[str, Collection[str]] = {} if channels is None else channels
        chosen: Mapping[str, Wiring] = {} if wirings is None else wirings
        wired = {name: chosen[name] for name in known if name in chosen}
        pairs = {(name, channel): pad for name, wiring in wired.items() for channel, pad in wiring.pads.items()}
        counts = Counter(pairs.values())
        self.doubled = frozenset(pad for pad, count in counts.items() if count > 1)
        self._chosen = {pair: pad for pair, pad in pairs.items() if pad not in self.doubled}
        self._ambiguous = {pair for pair, pad in pairs.items() if pad in self.doubled}
        left = [(name, channel) for name, own in known.items() for channel in own if (name, channel) not in pairs]
        claims = Counter(channel for _, channel in left)
        self._taken = set(counts)
        self._own = {pair for pair in left if claims[pair[1]] == 1 and pair[1] not in self._taken}
        self._alone = len(known) <= 1

    def pad(self, source: str, channel: str) -> str:
        """The pad of a channel; ``source.channel``, which is no pad's name, where that is not clear."""
        pair = (source, channel)
        chosen = self._chosen.get(pair)
        if chosen is not None:
            return chosen
        if pair in self._own or (self._alone and channel not in self._taken and pair not in self._ambiguous):
            return channel
        return f"{source}.{channel}"
