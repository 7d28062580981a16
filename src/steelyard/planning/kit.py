"""The instruments and blocks of a day, and the cost of handling them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields

from steelyard.classes import dataclass
from steelyard.model import InstrumentKind, WeighDay


class PlanError(ValueError):
    """A question that planning cannot take; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Cost of handling, in any unit of effort.

    Attributes
    ----------
    carry: of one pad or platform to another place. move: of driving the rig off and on again, once for each draft.
    hitch: of making or unmaking a coupling. bars: of tensioning or slackening weight-distributing bars.
    load: of putting one thing of cargo aboard or off. block: of placing one block.
    """

    carry: float = 1.0
    move: float = 5.0
    hitch: float = 10.0
    bars: float = 4.0
    load: float = 2.0
    block: float = 0.5

    def changed(self, values: Mapping[str, float]) -> Costs:
        """These costs with some of them set anew.

        Raises
        ------
        PlanError: one of a name that there is not, negative, or no cost for a draft at all.
        """
        names = [item.name for item in fields(self)]
        for name, value in values.items():
            if name not in names:
                raise PlanError(f"there is no cost {name!r}; there are {', '.join(names)}")
            if not 0.0 <= value <= 1e6:
                raise PlanError(f"the cost {name!r} is {value:g}; it is a number from 0 to a million")
        made = Costs(**{name: values.get(name, getattr(self, name)) for name in names})
        if made.move <= 0.0:
            raise PlanError("the cost 'move' is 0; a draft costs something, or no number of them would be too many")
        return made


@dataclass(frozen=True, slots=True)
class Kit:
    """Instruments that are there to be used.

    Attributes
    ----------
    pads: in the order in which they go in pairs. platforms: each under an axle or a coupling point.
    coupling: instruments that fit under a coupling point. single: whether a pad may stand under a wheel alone.
    blocks: how many pad-high blocks there are; None: every wheel without a pad stands on planks as high as the pads.
    """

    pads: tuple[str, ...]
    platforms: tuple[str, ...] = ()
    coupling: tuple[str, ...] = ()
    single: bool = False
    blocks: int | None = 0

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Pads two by two, left and right."""
        return tuple(zip(self.pads[::2], self.pads[1::2], strict=False))


def kit_of(
    day: WeighDay,
    names: Iterable[str],
    *,
    coupling: str | None = None,
    single: bool = False,
    blocks: int | None = None,
    planks: bool = False,
) -> Kit:
    """The uses of the instruments ``names`` of the day.

    Without ``blocks`` or ``planks`` the drafts taken so far decide: where they stood on the ground, or where there are
    none, so do these; else there are planks under every wheel without a pad.

    Raises
    ------
    PlanError: an instrument that does not exist or is named twice, an odd number of pads, more pads than wheels.
    """
    chosen = list(names)
    for name in [*chosen, *([coupling] if coupling is not None else [])]:
        if name not in day.instruments:
            raise PlanError(f"there is no instrument {name!r}; the day has {', '.join(day.instruments) or 'none'}")
    twice = next((name for name in chosen if chosen.count(name) > 1), None)
    if twice is not None:
        raise PlanError(f"{twice!r} is named twice; one instrument stands in one place")
    if not chosen and coupling is None:
        raise PlanError("no pads are named; name those at hand, as in p1,p2")
    platforms = tuple(name for name in chosen if day.instruments[name].kind is InstrumentKind.PLATFORM)
    pads = tuple(name for name in chosen if name not in platforms and name != coupling)
    if len(pads) % 2 and not single:
        said = "one pad is not a pair" if len(pads) == 1 else f"{len(pads)} pads are not pairs"
        raise PlanError(f"{said}, and pads go in pairs under an axle; name one more or one less, or allow --single")
    wheels = max(
        (sum(len(day.vehicles[name].wheels) for name in state.vehicles) for state in day.states.values()), default=0
    )
    if len(pads) > wheels:
        raise PlanError(f"{len(pads)} pads are more than there are wheels: the most in one state is {wheels}")
    under = platforms if coupling is None else (coupling, *(name for name in platforms if name != coupling))
    if blocks is None and not planks:
        planks = bool(day.drafts) and not any(draft.on_ground for draft in day.drafts)
    count = None if planks else (blocks or 0)
    return Kit(pads, tuple(name for name in platforms if name != coupling), under, single, count)
