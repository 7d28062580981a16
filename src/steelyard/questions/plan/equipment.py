"""Days and kits with a little more than there is, to see what it would buy."""

from __future__ import annotations

from dataclasses import replace

from steelyard.model import InstrumentKind, WeighDay
from steelyard.planning import Kit


def other_equipment(day: WeighDay, kit: Kit) -> list[tuple[str, WeighDay, Kit]]:
    """Additions to the equipment, in words, each with the day and the kit that have it."""
    found: list[tuple[str, WeighDay, Kit]] = []
    wheels = max(sum(len(day.vehicles[name].wheels) for name in state.vehicles) for state in day.states.values())
    if kit.pads and len(kit.pads) + 2 <= wheels:
        model = day.instruments[kit.pads[-1]]
        names = _free_names(day, 2)
        extra = {name: replace(model, id=name) for name in names}
        richer = replace(day, instruments={**day.instruments, **extra})
        found.append(("two more pads of the same kind", richer, replace(kit, pads=(*kit.pads, *names))))
    pads = [name for name in kit.pads if day.instruments[name].kind is InstrumentKind.PAD]
    if pads:
        finer = {name: replace(day.instruments[name], division=day.instruments[name].division / 2.0) for name in pads}
        found.append(("half the division on every pad", replace(day, instruments={**day.instruments, **finer}), kit))
    high = any(day.instruments[name].height.value > 0.0 for name in kit.pads)
    if kit.blocks is not None and high:
        what = "pad-high blocks under every wheel without a pad"
        found.append((what, day, replace(kit, blocks=None)))
    return found


def _free_names(day: WeighDay, count: int) -> list[str]:
    names = (f"more{number}" for number in range(1, len(day.instruments) + count + 1))
    return [name for name in names if name not in day.instruments][:count]
