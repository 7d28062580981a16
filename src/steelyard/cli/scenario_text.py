"""The small texts that say what would be changed, ``850 lb on tow at 224 in, 0 in`` and its like, as JSON values.

Only their form is looked at here: what the values may be is for the question to say.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from steelyard.classes import dataclass
from steelyard.cli.asking import GivenOptions
from steelyard.model import WeighDay
from steelyard.units import pair_of

ADD = '"850 lb on tow at 224 in, 0 in"'
MOVE = '"bale to 150 in, -10 in"'
SET = '"water.level=100 %"'

_ADD = re.compile(r"^(?:(?P<name>[\w-]+)\s*:)?(?P<mass>.+?)\son\s+(?P<on>[\w-]+)\s+at\s(?P<place>.+)$", re.DOTALL)
_MOVE = re.compile(r"^\s*(?P<name>[\w-]+)\s+to\s(?P<place>.+)$", re.DOTALL)
_SET = re.compile(r"^\s*(?P<name>[\w-]+)\.(?P<key>\w+)\s*=(?P<value>.+)$", re.DOTALL)
_HITCH = re.compile(r"^\s*(?:(?P<towing>[\w-]+)/)?(?P<at>[\w-]+)\s*:\s*(?P<trailer>[\w-]+)\s*$")
_SAME = re.compile(r"^\s*same-as\s*:\s*(?P<state>[\w-]+)\s*$")
_RANGE = re.compile(r"^\s*(?P<name>[\w-]+)\s*:(?P<low>.+?)\.\.(?P<high>.+)$", re.DOTALL)


@dataclass(frozen=True)
class Wishes:
    """The texts of each option of a scenario, as typed."""

    add: tuple[str, ...] = ()
    remove: tuple[str, ...] = ()
    move: tuple[str, ...] = ()
    change: tuple[str, ...] = ()
    hitch: tuple[str, ...] = ()
    unhitch: tuple[str, ...] = ()
    distribution: str | None = None
    put_on: tuple[str, ...] = ()


def scenario_given(day: WeighDay, base: str, wishes: Wishes) -> GivenOptions:
    """The values of a scenario against the state ``base`` of the day."""
    given = GivenOptions({"from": base, "put_on": wishes.put_on, "remove": wishes.remove, "unhitch": wishes.unhitch})
    given.values["add"] = loads(given, wishes.add)
    given.values["change"] = changes = _Changes(given)
    for text in wishes.move:
        changes.move(text)
    for text in wishes.change:
        changes.set(text)
    given.values["hitch"] = [made for text in wishes.hitch for made in _hitch(given, text)]
    if wishes.distribution is not None:
        _distribute(given, day, base, wishes)
    return given


def loads(given: GivenOptions, texts: Iterable[str]) -> list[dict[str, Any]]:
    """Each ``[NAME:] MASS on VEHICLE at X, Y`` of ``--add`` as a table."""
    found: list[dict[str, Any]] = []
    for text in texts:
        match = _ADD.match(text)
        place = None if match is None else _place(given, "--add", match["place"])
        if match is None:
            given.fault("--add", text, f"is not a load; write for example {ADD}")
        elif place is not None:
            name = {} if match["name"] is None else {"name": match["name"]}
            found.append({**name, "mass": match["mass"].strip(), "on": match["on"], **place})
    return found


def ranges(given: GivenOptions, option: str, texts: Iterable[str]) -> dict[str, list[str]]:
    """Each ``TRAILER:LEAST..GREATEST`` of an option, by trailer."""
    found: dict[str, list[str]] = {}
    for text in texts:
        match = _RANGE.match(text)
        if match is None:
            given.fault(option, text, 'is not a range; write for example "stock:-6 in..6 in"')
        elif match["name"] in found:
            given.fault(option, text, f"'{match['name']}' is given twice; one range holds for a trailer")
        else:
            found[match["name"]] = [match["low"].strip(), match["high"].strip()]
    return found


def _place(given: GivenOptions, option: str, text: str) -> dict[str, str] | None:
    parts = pair_of(text)
    if parts is None:
        given.fault(option, text.strip(), "is not a place; write two lengths, rearward and to the left: 224 in, 0 in")
        return None
    return {"x": parts[0].strip(), "y": parts[1].strip()}


class _Changes(dict[str, dict[str, str]]):
    """The changed quantities of each cargo, by cargo; each quantity may be changed once."""

    def __init__(self, given: GivenOptions) -> None:
        super().__init__()
        self._given = given

    def move(self, text: str) -> None:
        """Take in a ``NAME to X, Y`` of ``--move``."""
        match = _MOVE.match(text)
        if match is None:
            self._given.fault("--move", text, f"is not a move; write for example {MOVE}")
            return
        for key, value in (_place(self._given, "--move", match["place"]) or {}).items():
            self._put("--move", match["name"], key, value)

    def set(self, text: str) -> None:
        """Take in a ``NAME.KEY=VALUE`` of ``--set``."""
        match = _SET.match(text)
        if match is None:
            self._given.fault("--set", text, f"changes nothing; write for example {SET}")
        else:
            self._put("--set", match["name"], match["key"], match["value"].strip())

    def _put(self, option: str, name: str, key: str, value: str) -> None:
        values = self.setdefault(name, {})
        if key in values:
            self._given.fault(option, value, f"{key} of '{name}' is given twice")
        values[key] = value
        self._given.options[f"change.{name}"] = f"{option} {name}"
        self._given.options[f"change.{name}.{key}"] = f"{option} {name}.{key}"


def _hitch(given: GivenOptions, text: str) -> Iterable[dict[str, Any]]:
    match = _HITCH.match(text)
    if match is None:
        given.fault("--hitch", text, "hitches nothing; write for example ball:stock or tow/ball:stock")
        return
    yield {key: value for key, value in match.groupdict().items() if value is not None}


def _distribute(given: GivenOptions, day: WeighDay, base: str, wishes: Wishes) -> None:
    """Put the couple on the one trailer that it can mean: the one hitched now, else the one that stays hitched."""
    text = (wishes.distribution or "").strip()
    same = _SAME.match(text)
    couple = text if same is None else {"as": same["state"]}
    hitched: list[dict[str, Any]] = given.values["hitch"]
    links = day.states[base].links if base in day.states else ()
    staying = [link.trailer for link in links if link.trailer not in wishes.unhitch]
    if len(hitched) == 1:
        hitched[0]["distribution"] = couple
        given.options["hitch.0.distribution"] = "--distribution"
    elif len(staying) == 1 and not hitched:
        given.values["distribution"] = {staying[0]: couple}
    elif base in day.states:
        count = "no trailer is hitched" if not staying and not hitched else "several trailers are hitched"
        given.fault("--distribution", text, f"{count}, so it cannot be told which one it acts on")
