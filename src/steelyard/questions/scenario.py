"""A scenario as it is asked: what is put on, taken off, changed, hitched or unhitched against a state of the day.

What the weigh-day file has a word for is read by the reader of files, so that a question takes what a file takes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Protocol

from steelyard.dayfile import DayFileError, read_cargo, read_state, size_complaint
from steelyard.findings import Weighed
from steelyard.loading import Hitching, Item, Scenario, refuse_off_vehicle
from steelyard.model import Cargo, Distribution, DistributionKind, WeighDay
from steelyard.names import meant
from steelyard.questions.form import Kind, Reading
from steelyard.questions.kinds import (
    MOST,
    Amount,
    ByName,
    Names,
    StateName,
    Table,
    Tables,
    Text,
    items,
    quantity,
    table,
)
from steelyard.units import Dimension, Quantity

ASKED = "what_if"
"""Name of a new state that nobody named."""

_READ = "_read"
_TITLE = "title"  # cargo has its name for people under this key, for "name" is its id here


# ---- kinds of values ----


@dataclass(frozen=True, slots=True)
class Couple(Kind):
    """A weight-distributing couple: a quantity, that of another state, or ``none``."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> Distribution:
        """The couple as a state of the file has it."""
        if value == "none":
            return Distribution()
        if isinstance(value, dict) and set(value) == {"as"}:  # pyright: ignore[reportUnknownArgumentType]
            state = StateName("").read(reading, table(reading, value, path)["as"], f"{path}.as")
            return Distribution(DistributionKind.SAME, state=state)
        if isinstance(value, str):
            return Distribution(DistributionKind.STATED, quantity(reading, value, Dimension.COUPLE, path))
        reading.fault(path, value, 'is not a couple; write for example "9000 lb*in", {"as": "hitched"} or "none"')
        return Distribution()

    def schema(self) -> dict[str, Any]:
        """A string, or an object that names a state."""
        return {"type": ["string", "object"]}


@dataclass(frozen=True, slots=True)
class Loads(Kind):
    """Cargo that the day does not know, each item with its vehicle, mass and place; ``name`` is made up if left out."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> tuple[Cargo, ...]:
        """The cargo, in order."""
        day, found = reading.day, list[Cargo]()
        for number, item in enumerate(items(reading, value, path)):
            cargo = _load(reading, day, item, f"{path}.{number}", {one.id for one in found})
            if cargo is not None:
                found.append(cargo)
                day = replace(day, cargo={**day.cargo, cargo.id: cargo})
        return tuple(found)

    def schema(self) -> dict[str, Any]:
        """A list of objects with the keys of cargo."""
        amount = {"type": ["string", "number"], "description": "In the day's unit, or a text with its unit."}
        words = {
            "name": "Letters, digits, - and _; made up where left out.",
            _TITLE: "The name for people.",
            "on": "A vehicle of the state.",
        }
        texts = {key: {"type": "string", "description": said} for key, said in words.items()}
        properties = {**texts, **dict.fromkeys(("mass", "x", "y", "z"), amount)}
        item = {"type": "object", "properties": properties, "required": ["on", "mass", "x", "y"]}
        return {"type": "array", "items": item, "maxItems": MOST}


def _load(reading: Reading, day: WeighDay, item: Any, path: str, others: set[str]) -> Cargo | None:
    before = len(reading.faults)
    data = table(reading, item, path)
    name = data.pop("name", None)
    name = _free(day) if name is None else name
    if not isinstance(name, str):
        reading.fault(f"{path}.name", name, "is not a name; names are letters, digits, _ and -")
    elif name in others:
        reading.fault(f"{path}.name", name, "is the name of two loads; give each its own name")
    for key in ("mass", "x", "y"):
        if data.get(key) is None:
            reading.fault(f"{path}.{key}", "", "is missing; a load needs mass, x and y")
    mass = quantity(Reading(day), data.get("mass"), Dimension.MASS, "")  # a fault of it is noted by the reader of files
    if mass is not None and not mass.value > 0.0:
        reading.fault(f"{path}.mass", data["mass"], "is not above zero; what comes off is named with remove")
    if not reading.sound_since(before):
        return None
    if _TITLE in data:
        data["name"] = data.pop(_TITLE)
    try:
        return read_cargo(day, str(name), data)
    except DayFileError as error:
        _take_over(reading, error, path)
        return None


def _free(day: WeighDay) -> str:
    name, number = "load", 1
    while name in day.cargo:
        number += 1
        name = f"load{number}"
    return name


def _take_over(reading: Reading, error: DayFileError, path: str, prefix: str = "") -> None:
    """Note the faults that the reader of files found in a table at ``path``."""
    for one in error.faults:
        reading.quote(f"{path}.{one.path.removeprefix(prefix)}", one.value, one.message)


@dataclass(frozen=True, slots=True)
class Changes(Kind):
    """For each cargo the quantities that change, with the keys of the file."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> dict[str, Mapping[str, Quantity]]:
        """The quantities by cargo and key."""
        before, asked, day = len(reading.faults), table(reading, value, path), reading.day
        for name in [name for name in asked if name not in day.cargo]:
            reading.fault(f"{path}.{name}", name, f"there is no such cargo; {meant(name, day.cargo, 'the day has')}")
            del asked[name]
        for name, values in asked.items():
            _check_tank(reading, day.cargo[name], values, f"{path}.{name}")
        if not asked or not reading.sound_since(before):
            return {}
        on = dict.fromkeys(day.cargo[name].on for name in asked)
        state = {"vehicles": list(on), "cargo": list(asked), "change": asked}
        try:
            found = read_state(replace(day, states={}), _READ, state).change
        except DayFileError as error:
            _take_over(reading, error, path, "change.")
            return {}
        return {name: found[name] for name in asked}

    def schema(self) -> dict[str, Any]:
        """An object of objects."""
        return {"type": "object", "additionalProperties": {"type": "object"}}


def _check_tank(reading: Reading, cargo: Cargo, values: Any, path: str) -> None:
    """Note it where a tank is given a mass, or what has a mass a level."""
    for key in values if isinstance(values, dict) else ():  # pyright: ignore[reportUnknownVariableType]
        if cargo.is_tank and key == "mass":
            reading.fault(f"{path}.{key}", values[key], f"{cargo.id!r} is a tank; set its level")
        elif cargo.mass is not None and key in ("volume", "density", "level"):
            reading.fault(f"{path}.{key}", values[key], f"{cargo.id!r} is not a tank; set its mass")


@dataclass(frozen=True, slots=True)
class OneItem(Kind):
    """One thing of some mass, which may stand anywhere."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> Item:
        """Its mass [kg] with its uncertainty."""
        before = len(reading.faults)
        mass = Amount(self.doc, Dimension.MASS, positive=True).read(reading, value, path)
        complaint = size_complaint(mass, Dimension.MASS, reading.day.units)
        if complaint is not None and reading.sound_since(before):
            reading.fault(path, value, complaint)
        return Item(mass.value, mass.u_or(0.0))

    def schema(self) -> dict[str, Any]:
        """A string or a number."""
        return {"type": ["string", "number"]}


# ---- questions ----

_BASE = StateName("The state that is changed.")
_NAMED = Text("What the new state is called: `what_if` where left out.")
_UNHITCH = Names("Trailers that are unhitched; they leave the state.", done=True)
_COUPLES = ByName("Couple of trailers that stay hitched, by trailer.", Couple(""))


@dataclass(frozen=True, slots=True)
class HitchQuestion:
    """A trailer that is hitched."""

    at: Annotated[str, Text("The coupling.")]
    trailer: Annotated[str, Text("The trailer that is hitched to it.")]
    towing: Annotated[str | None, Text("The vehicle in front, where two have such a coupling.")] = None
    distribution: Annotated[
        Distribution,
        Couple('Its couple with the unit, as in `"9000 lb*in"`; `{"as": STATE}` for that of a state; `"none"`.'),
    ] = field(default_factory=Distribution)

    def hitching(self) -> Hitching:
        """The same as ``loading`` takes it."""
        return Hitching(self.at, self.trailer, self.towing or None, self.distribution)


_HITCH = Tables("Trailers that are hitched.", HitchQuestion)


@dataclass(frozen=True, slots=True)
class ScenarioQuestion:
    """Changes to a state. All of them happen together."""

    from_: Annotated[str, _BASE]
    name: Annotated[str, _NAMED] = ASKED
    add: Annotated[tuple[Cargo, ...], Loads("What is put on that the day does not know.")] = ()
    put_on: Annotated[tuple[str, ...], Names("Cargo of the day that comes aboard too.", done=True)] = ()
    remove: Annotated[tuple[str, ...], Names("Cargo that is taken off.", done=True)] = ()
    change: Annotated[
        Mapping[str, Mapping[str, Quantity]],
        Changes('For each cargo what changes, as in `{"water": {"level": "100 %"}}`, with the keys of the file.'),
    ] = field(default_factory=dict[str, Mapping[str, Quantity]])
    hitch: Annotated[tuple[HitchQuestion, ...], _HITCH] = ()
    unhitch: Annotated[tuple[str, ...], _UNHITCH] = ()
    distribution: Annotated[Mapping[str, Distribution], _COUPLES] = field(default_factory=dict[str, Distribution])

    def check(self, reading: Reading) -> None:
        """See that no cargo is both put on and taken off."""
        for name in self.put_on:
            if name in self.remove:
                reading.fault("put_on", name, "is put on and removed as well; leave one of the two out")

    def scenario(self, day: WeighDay) -> Scenario:
        """The same as ``loading`` takes it.

        Raises
        ------
        ScenarioError: something would stand off its vehicle.
        """
        made = Scenario(
            self.from_,
            add=self.add,
            put_on=self.put_on,
            remove=self.remove,
            change=self.change,
            hitch=tuple(item.hitching() for item in self.hitch),
            unhitch=self.unhitch,
            distribution=self.distribution,
        )
        refuse_off_vehicle(day, made)
        return made


@dataclass(frozen=True, slots=True)
class CoupledQuestion:
    """A state, as it is or with trailers hitched and unhitched."""

    from_: Annotated[str, _BASE]
    name: Annotated[str, _NAMED] = ASKED
    hitch: Annotated[tuple[HitchQuestion, ...], _HITCH] = ()
    unhitch: Annotated[tuple[str, ...], _UNHITCH] = ()
    distribution: Annotated[Mapping[str, Distribution], _COUPLES] = field(default_factory=dict[str, Distribution])

    def scenario(self) -> Scenario | None:
        """The same as ``loading`` takes it; None where the state stays as it is."""
        if not (self.hitch or self.unhitch or self.distribution):
            return None
        hitch = tuple(item.hitching() for item in self.hitch)
        return Scenario(self.from_, hitch=hitch, unhitch=self.unhitch, distribution=self.distribution)


_Key = Annotated[
    str, Text("Made by the sender and never used again: sent twice, it is kept once.", 100, printable=True, least=1)
]
_Name = Annotated[str, Text("What the new state is called.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScenarioMark:
    """By what a scenario that is kept is known."""

    key: _Key
    name: _Name


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptScenarioQuestion(ScenarioQuestion):
    """A scenario that is kept under its name."""

    key: _Key
    name: _Name  # pyright: ignore[reportGeneralTypeIssues] - without a default here: it must be given


# ---- a state of the day, or the one that a scenario would make ----

STATE = StateName("A state of the day, or else:")
SCENARIO = Table("The state that this scenario would make.", ScenarioQuestion)


class OfState(Protocol):
    """A question about one state: ``state`` names it, or ``scenario`` makes it."""

    @property
    def state(self) -> str | None:
        """A state of the day."""
        ...

    @property
    def scenario(self) -> ScenarioQuestion | None:
        """The scenario that makes the state."""
        ...


def check_one_state(question: OfState, reading: Reading) -> None:
    """Note it where neither a state nor a scenario is given, or both are."""
    if question.scenario is not None and question.state is not None:
        reading.fault("scenario", "", "stands beside state; give one of the two")
    elif question.scenario is None and question.state is None:
        reading.fault("state", "", f"is missing; name a state, {', '.join(reading.day.states)}, or give a scenario")


def asked_of(weighed: Weighed, question: OfState) -> tuple[Weighed, str]:
    """The state that is asked about, and the day that has it.

    Raises
    ------
    ScenarioError: the day cannot make the scenario.
    """
    if question.scenario is None:
        return weighed, question.state or ""
    scenario = question.scenario.scenario(weighed.adjustment.rig.day)
    return weighed.with_scenario(scenario, question.scenario.name), question.scenario.name
