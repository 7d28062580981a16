"""One loading condition as a table: wheels left and right, axles, sides, gross, coupling, balance."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.findings import Basis, Finding, Findings
from steelyard.model import (
    DistributionKind,
    FindingId,
    Link,
    Measurand,
    Role,
    State,
    Vehicle,
    WeighDay,
    axle_load,
    axles_load,
    cargo_finding,
    combination_gross,
    coupling_quantity,
    gross_load,
    side_load,
    wheel_load,
)
from steelyard.questions.above import coupling_number
from steelyard.report.tables.axle_groups import group_lines
from steelyard.report.tables.left import left_lines
from steelyard.report.words.grid import Grid, listed, rule, wrapped
from steelyard.report.words.names import ShownFigures, amount, interval, shown, two_sided, with_unit
from steelyard.units import Dimension

_LEFT, _RIGHT, _INTERVAL = 1, 2, 4
_NOTHING = "not determined; the section on what is not determined says what would tell"
_UNKNOWNS = ("mass", "x", "y")


def state_section(findings: Findings, state_id: str) -> list[str]:
    """The lines of one state: one table over all its vehicles, then what stands beside the loads."""
    state = findings.day.states[state_id]
    if not any(_of_state(findings, state_id)):
        return [
            rule(_head(findings, state_id), "no numbers"),
            *wrapped("What it stands on does not hold it up; see the cautions."),
        ]
    units = findings.day.units
    lines = [rule(_head(findings, state_id), _basis(findings, state_id)), *_aboard(findings, state), ""]
    grid = Grid((units.mass, "left", "right", "both", "95 % interval"))
    for vehicle_id in state.vehicles:
        _vehicle_rows(grid, findings, state, findings.day.vehicles[vehicle_id])
    grid.trim()
    if not any(item.determined for _, item in _of_state(findings, state_id)):
        return [*lines, *wrapped(_NOTHING)]
    if not _more_than_the_whole(findings, state_id):
        return [*lines, *_combination(findings, state), *wrapped(f"All else is {_NOTHING}.")]
    if not _sides_known(findings, state):
        grid = grid.without(_RIGHT).without(_LEFT)
        lines[-1:] = [*wrapped("Nothing is known of left and right apart."), ""]
    lines += grid.render(droppable=_INTERVAL)
    notes = _combination(findings, state)
    notes += [note for name in state.vehicles for note in _balance(findings, state, findings.day.vehicles[name])]
    lines += ["", *notes] if notes else []
    lines += group_lines(findings, state_id)
    return [*lines, *left_lines(findings, state_id)]


def _head(findings: Findings, state_id: str) -> str:
    """The id by which commands ask for a state, with its name for people where that is another."""
    title = findings.day.state_title(state_id)
    return state_id if title == state_id.replace("_", " ") else f"{state_id}: {title}"


def _basis(findings: Findings, state_id: str) -> str:
    if state_id not in findings.day.measured_states():
        return Basis.PREDICTED + ", no draft"
    count = sum(draft.state == state_id and bool(draft.readings) and not draft.raised for draft in findings.day.drafts)
    return f"{Basis.MEASURED} in {count} draft{'' if count == 1 else 's'}"


def _aboard(findings: Findings, state: State) -> list[str]:
    parts = [_coupled(link) for link in state.links]
    up = [f"axle {axle} of {name}" for name, axles in state.lifted.items() for axle in sorted(axles)]
    parts += [f"{listed(up)} up"] if up else []
    if state.cargo:
        parts.append("aboard: " + listed(_cargo(findings, state)))
    return wrapped("; ".join(parts)) if parts else []


def _coupled(link: Link) -> str:
    couple = {
        DistributionKind.NONE: "",
        DistributionKind.UNKNOWN: ", weight distribution on",
        DistributionKind.STATED: ", weight distribution on as stated",
        DistributionKind.SAME: f", weight distribution on as in {link.distribution.state}",
    }
    return f"{link.trailer} coupled to {link.towing} at {link.at}{couple[link.distribution.kind]}"


def _cargo(findings: Findings, state: State) -> list[str]:
    units = findings.day.units
    texts: list[str] = []
    for cargo in findings.day.cargo_in(state).values():
        mass = with_unit(round(cargo.mass_value().value, 3), Dimension.MASS, units) if cargo.mass_known else "unknown"
        texts.append(f"{cargo.title} ({mass})")
    return texts


def _vehicle_rows(grid: Grid, findings: Findings, state: State, vehicle: Vehicle) -> None:
    def get(load: Measurand) -> ShownFigures | None:
        return shown(findings.get(load.at(state.id)), findings.day.units)

    for line in wrapped(vehicle.id if vehicle.title == vehicle.id else f"{vehicle.id}: {vehicle.title}", rest="  "):
        grid.say(line)
    own = (item for name, item in _of_state(findings, state.id) if name.of_vehicle and name.owner == vehicle.id)
    if not any(item.determined for item in own):
        grid.say(f"  {_NOTHING}")
        grid.say()
        return
    for number in range(1, len(vehicle.axles) + 1):
        if state.is_up(vehicle.id, number):
            grid.add(f"  axle {number}", "", "", "up")
            continue
        axle = get(axle_load(vehicle.id, number))
        left, right = (get(wheel_load(vehicle.id, f"{number}{side}")) for side in "LR")
        grid.add(f"  axle {number}", amount(left), amount(right), amount(axle), interval(axle))
    trailer = vehicle.role is Role.TRAILER
    total = get(axles_load(vehicle.id) if trailer else gross_load(vehicle.id))
    left, right = (get(side_load(vehicle.id, side)) for side in "LR")
    grid.add("  axles" if trailer else "  gross", amount(left), amount(right), amount(total), interval(total))
    if trailer:
        _trailer_rows(grid, findings, state, vehicle)
    grid.say()


def _sides_known(findings: Findings, state: State) -> bool:
    """Whether any wheel or side is determined; after a truck scale's axle weights none is."""
    kinds = ("wheel", "side")
    return any(
        item.determined for name, item in _of_state(findings, state.id) if name.of_vehicle and name.kind in kinds
    )


def _more_than_the_whole(findings: Findings, state_id: str) -> bool:
    """Whether anything beside the combination's total is determined."""
    return any(item.determined for name, item in _of_state(findings, state_id) if not name.of_combination)


def _of_state(findings: Findings, state_id: str) -> Iterator[tuple[FindingId, Finding]]:
    """The findings of one state, changes left out, each with its name."""
    named = ((FindingId.parse(item.id), item) for item in findings.findings)
    return ((name, item) for name, item in named if name.states == (state_id,))


def _trailer_rows(grid: Grid, findings: Findings, state: State, vehicle: Vehicle) -> None:
    """Supports of a trailer beside its wheels: its coupling, or its stand where it is parked; then its gross."""
    units = findings.day.units
    label = "  stand" if state.link_of_trailer(vehicle.id) is None else "  coupling"
    load = shown(findings.get(_at_coupling(findings.day, state, vehicle.id, "load")), units)
    grid.add(label, "", "", amount(load), interval(load))
    gross = shown(findings.get(gross_load(vehicle.id).at(state.id)), units)
    grid.add("  gross", "", "", amount(gross), interval(gross))


def _combination(findings: Findings, state: State) -> list[str]:
    gross = shown(findings.get(combination_gross().at(state.id)), findings.day.units)
    if gross is None:
        return []
    interval_text = f", 95 % interval {gross.low} to {gross.high}" if gross.half and not gross.contested else ""
    return wrapped(f"All wheels of the combination: {gross.spread}{interval_text}.", rest="  ")


def _at_coupling(day: WeighDay, state: State, trailer: str, kind: str) -> FindingId:
    return coupling_quantity(coupling_number(day, state, trailer), kind).at(state.id)


def _balance(findings: Findings, state: State, vehicle: Vehicle) -> list[str]:
    """Shares, the couple and the centre of gravity of one vehicle in a sentence; nothing for what is not determined."""
    own = (
        ("front_share", "of its load on axle 1"),
        ("left_share", "on its left side"),
        ("payload", "of payload aboard"),
    )
    wanted = [(Measurand(vehicle.id, kind).at(state.id), words) for kind, words in own]
    if vehicle.role is Role.TRAILER:
        where = "stand" if state.link_of_trailer(vehicle.id) is None else "coupling"
        share, couple, restored = (
            _at_coupling(findings.day, state, vehicle.id, kind) for kind in ("share", "couple", "restored")
        )
        wanted += [(share, f"of its gross on the {where}"), (couple, "of weight-distributing couple")]
        wanted += [(restored, "of the front axle load restored")]
    texts = [(shown(findings.get(finding_id), findings.day.units), words) for finding_id, words in wanted]
    parts = [f"{figures.spread} {words}" for figures, words in texts if figures is not None]
    place = _centre_of_gravity(findings, state.id, vehicle)
    parts += [f"centre of gravity {place}"] if place else []
    return wrapped(f"{vehicle.id}: {'; '.join(parts)}.", rest="  ") if parts else []


def _centre_of_gravity(findings: Findings, state: str, vehicle: Vehicle) -> str:
    units = findings.day.units
    x, y, z = (findings.get(Measurand(vehicle.id, f"cg_{axis}").at(state)) for axis in "xyz")
    along, across = shown(x, units), shown(y, units)
    parts: list[str] = []
    if along is not None:
        origin = "axle 1" if vehicle.role is Role.TOWING else "its coupling point"
        parts.append(f"{along.spread} behind {origin}")
    if across is not None and y is not None and y.value is not None:
        parts.append(f"{two_sided(across, 'right', 'left')} of the centreline")
    high = shown(z, units)
    if high is not None:
        parts.append(f"{high.spread} above the ground")
    return listed(parts)


def cargo_section(findings: Findings) -> list[str]:
    """Cargo whose mass or place was unknown, as far as it was found; empty where the day has none."""
    units = findings.day.units
    names = [name for name in findings.day.cargo if any(findings.get(cargo_finding(name, what)) for what in _UNKNOWNS)]
    if not names:
        return []
    heads = (f"mass, {units.mass}", f"along (x), {units.length}", f"across (y), {units.length}")
    grid = Grid(("", *heads))
    for name in names:
        found = [findings.get(cargo_finding(name, what)) for what in _UNKNOWNS]
        cells = ["as stated" if finding is None else amount(shown(finding, units)) for finding in found]
        grid.add(f"{name} on {findings.day.cargo[name].on}", *cells)
    return [rule("cargo found"), "", *grid.render()]
