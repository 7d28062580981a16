"""Changes from one state to another: the transfers a person asks for, out of all that exist."""

from __future__ import annotations

from steelyard.findings import Findings
from steelyard.model import Measurand, Role, State, WeighDay, axle_load, coupling_quantity, gross_load, side_load
from steelyard.questions.above import coupling_number
from steelyard.report.words.grid import Grid, rule, wrapped
from steelyard.report.words.names import ShownFigures, amount, interval, plain, shown, two_sided

FEW = 6
_INTERVAL = 4


def pairs(day: WeighDay) -> tuple[tuple[str, str], ...]:
    """The pairs of states worth reading, in file order.

    For each vehicle, every state against the one before it in which the vehicle stands, and every coupled state against
    the vehicle's last uncoupled one: what hitching alone did. Where that gives more than `FEW`, the first kind only.
    """
    order = list(day.states)
    consecutive = day.neighbours()
    hitching: set[tuple[str, str]] = set()
    for vehicle in day.vehicles:
        standing = [state for state in day.states.values() if vehicle in state.vehicles]
        hitching.update(_hitching(standing, vehicle))
    chosen = consecutive | hitching if len(consecutive | hitching) <= FEW else consecutive
    return tuple(sorted(chosen, key=lambda pair: (order.index(pair[1]), -order.index(pair[0]))))


def _hitching(standing: list[State], vehicle: str) -> set[tuple[str, str]]:
    alone: str | None = None
    found: set[tuple[str, str]] = set()
    for state in standing:
        if not any(vehicle in {link.towing, link.trailer} for link in state.links):
            alone = state.id
        elif alone is not None:
            found.add((alone, state.id))
    return found


def move_section(findings: Findings, before: str, after: str) -> list[str]:
    """The lines of one transfer; empty where none of it is determined."""
    day = findings.day
    grid = Grid((day.units.mass, "before", "after", "change", "95 % interval"))
    shared = [name for name in day.states[after].vehicles if name in day.states[before].vehicles]
    told = [_vehicle_rows(grid, findings, before, after, vehicle) for vehicle in shared]
    told.append(_coupling_rows(grid, findings, before, after))
    if not any(told):
        return []
    grid.trim()
    front = _front_axles(findings, before, after)
    lines = [rule(f"from {before} to {after}", "what moved"), "", *grid.render(droppable=_INTERVAL)]
    return [*lines, "", *front] if front else lines


def _vehicle_rows(grid: Grid, findings: Findings, before: str, after: str, vehicle: str) -> bool:
    axles = len(findings.day.vehicles[vehicle].axles)
    quantities = [(f"  axle {number}", axle_load(vehicle, number)) for number in range(1, axles + 1)]
    quantities += [("  left side", side_load(vehicle, "L")), ("  right side", side_load(vehicle, "R"))]
    quantities.append(("  gross", gross_load(vehicle)))
    rows = [(label, *_three(findings, before, after, load)) for label, load in quantities]
    if all(change is None for *_, change in rows):
        return False
    grid.say(vehicle)
    for row in rows:
        _add(grid, *row)
    grid.say()
    return True


def _coupling_rows(grid: Grid, findings: Findings, before: str, after: str) -> bool:
    """Coupling loads that both states have; a coupling has the same number in both or no transfer."""
    day = findings.day
    told = False
    for trailer in day.states[after].vehicles:
        if trailer in day.states[before].vehicles and day.vehicles[trailer].role is Role.TRAILER:
            loads = {
                coupling_quantity(coupling_number(day, day.states[state], trailer), "load") for state in (before, after)
            }
            row = _three(findings, before, after, loads.pop())
            if not loads and row[2] is not None:
                _add(grid, f"{trailer} coupling", *row)
                told = True
    return told


def _front_axles(findings: Findings, before: str, after: str) -> list[str]:
    """Loss or gain of a towing vehicle's front axle, as a share of its load before."""
    lines: list[str] = []
    for vehicle in findings.day.states[after].vehicles:
        finding = findings.get(Measurand(vehicle, "front_change").between(before, after))
        figures = shown(finding, findings.day.units)
        if figures is not None and finding is not None and finding.value is not None:
            change = two_sided(figures, "lost", "gained", first=True)
            lines += wrapped(f"{vehicle}: its front axle {change} of its load before.", rest="  ")
    return lines


def _three(
    findings: Findings, before: str, after: str, load: Measurand
) -> tuple[ShownFigures | None, ShownFigures | None, ShownFigures | None]:
    units = findings.day.units
    return (
        shown(findings.get(load.at(before)), units),
        shown(findings.get(load.at(after)), units),
        shown(findings.get(load.between(before, after)), units, signed=True),
    )


def _add(
    grid: Grid, label: str, first: ShownFigures | None, second: ShownFigures | None, change: ShownFigures | None
) -> None:
    grid.add(label, plain(first), plain(second), amount(change), interval(change))
