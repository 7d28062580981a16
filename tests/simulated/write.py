"""A simulated weigh day as the text of a weigh-day file (TOML, format 1)."""

from __future__ import annotations

from tests.simulated.describe import Cargo, Couple, Day, Draft, Given, Instrument, State, Vehicle


def number(value: float) -> str:
    """A number as short as it can be without losing any of it."""
    return f"{value:.12g}"


def quantity(given: Given) -> str:
    """A quantity as a quoted string, with its uncertainty where the file says it."""
    text = f"{number(given.value)} {given.unit}"
    return f'"{text} +/- {number(given.u)} {given.unit}"' if given.said else f'"{text}"'


def day_text(day: Day, indications: list[list[float]]) -> str:
    """The whole file."""
    lines = ["format = 1", f'title = "{day.title}"', 'units = { mass = "lb", length = "in" }', "", "[site]"]
    lines += _site(day)
    for name, instrument in day.instruments.items():
        lines += ["", f"[instruments.{name}]", *_instrument(instrument)]
    for name, vehicle in day.vehicles.items():
        lines += _vehicle(name, vehicle)
    for name, cargo in day.cargo.items():
        lines += ["", f"[cargo.{name}]", *_cargo(cargo)]
    for name, state in day.states.items():
        lines += ["", f"[states.{name}]", *_state(state)]
    for index, (draft, shown) in enumerate(zip(day.drafts, indications, strict=True), start=1):
        lines += ["", "[[drafts]]", f'key = "d{index}"', *_draft(draft, shown)]
    return "\n".join(lines) + "\n"


def _site(day: Day) -> list[str]:
    lines = [f'unevenness = "{number(day.site.unevenness)} in"']
    for key in ("slope_long", "slope_lat"):
        given: Given | None = getattr(day.site, key)
        if given is not None:
            lines.append(f"{key} = {quantity(given)}")
    if day.site.latitude is not None:
        lines.append(f'latitude = "{number(day.site.latitude)} deg"')
    if day.site.elevation is not None:
        lines.append(f'elevation = "{number(day.site.elevation)} m"')
    return lines


def _instrument(made: Instrument) -> list[str]:
    lines = [
        f'kind = "{made.kind}"',
        f'capacity = "{number(made.capacity)} lb"',
        f'division = "{number(made.division)} lb"',
        f'span_uncertainty = "{number(100 * made.span_u)} %"',
        f'repeatability = "{number(made.repeatability)} lb"',
    ]
    if made.height is not None:
        lines.append(f"height = {quantity(made.height)}")
    if made.mass is not None:
        lines.append(f"mass = {quantity(made.mass)}")
    if made.set is not None:
        lines += [f'set = "{made.set}"', f'set_uncertainty = "{number(100 * made.set_u)} %"']
    if made.verified_latitude is not None:
        lines.append(f'verified_latitude = "{number(made.verified_latitude)} deg"')
    if made.verified_elevation is not None:
        lines.append(f'verified_elevation = "{number(made.verified_elevation)} m"')
    return lines


def _vehicle(name: str, vehicle: Vehicle) -> list[str]:
    lines = ["", f"[vehicles.{name}]", f'role = "{vehicle.role}"']
    if vehicle.cg_height is not None:
        lines.append(f"cg_height = {quantity(vehicle.cg_height)}")
    for axle in vehicle.axles:
        lines += [
            f"[[vehicles.{name}.axles]]",
            f"x = {quantity(axle.x)}",
            f"track = {quantity(axle.track)}",
            f"ride_rate = {quantity(axle.ride)}",
            f"roll_rate = {quantity(axle.roll)}",
        ]
        if axle.group is not None:
            lines += [f'group = "{axle.group}"', f'sharing = "{axle.sharing}"']
        if axle.friction is not None:
            lines.append(f'friction = "{number(100 * axle.friction)} %"')
    for key, coupling in vehicle.couplings.items():
        lines += [f"[vehicles.{name}.couplings.{key}]", f'type = "{coupling.type}"', f"x = {quantity(coupling.x)}"]
        if coupling.roll is not None:
            lines.append(f"roll_rate = {quantity(coupling.roll)}")
    return lines


def _cargo(cargo: Cargo) -> list[str]:
    lines = [f'on = "{cargo.on}"']
    given: list[tuple[str, Given | None]] = [("mass", cargo.mass), ("x", cargo.x), ("y", cargo.y), ("rate", cargo.rate)]
    if cargo.tank is not None:
        given += list(zip(("volume", "density", "level"), cargo.tank, strict=True))
    return lines + [f"{key} = {quantity(value)}" for key, value in given if value is not None]


def _names(names: tuple[str, ...]) -> str:
    return "[" + ", ".join(f'"{name}"' for name in names) + "]"


def _couple(couple: Couple) -> str:
    parts = [f'towing = "{couple.towing}"', f'at = "{couple.at}"', f'trailer = "{couple.trailer}"']
    match couple.distribution:
        case None:
            pass
        case True:
            parts.append("weight_distribution = true")
        case str(state):
            parts.append(f'weight_distribution = {{ as = "{state}" }}')
        case Given() as given:
            parts.append(f"weight_distribution = {quantity(given)}")
    if couple.height_change is not None:
        parts.append(f"height_change = {quantity(couple.height_change)}")
    return "{ " + ", ".join(parts) + " }"


def _state(state: State) -> list[str]:
    lines = [f"vehicles = {_names(state.vehicles)}"]
    if len(state.couples) == 1:
        lines.append(f"couple = {_couple(state.couples[0])}")
    elif state.couples:
        lines.append("couple = [" + ", ".join(_couple(couple) for couple in state.couples) + "]")
    if state.cargo:
        lines.append(f"cargo = {_names(state.cargo)}")
    lines += [f"change.{cargo}.{key} = {quantity(given)}" for (cargo, key), given in state.changes.items()]
    return lines


def _draft(draft: Draft, shown: list[float]) -> list[str]:
    lines = [f'state = "{draft.state}"']
    if draft.placement is not None:
        lines.append(f'placement = "{draft.placement}"')
    if draft.hours is not None:
        minutes = round(draft.hours * 60)
        lines.append(f"at = 2026-05-14T{8 + minutes // 60:02d}:{minutes % 60:02d}:00Z")
    if draft.reversed:
        lines.append('heading = "reversed"')
    if draft.ground:
        lines.append('unsupported = "ground"')
    pairs = zip(draft.readings, shown, strict=True)
    readings = ", ".join(f'"{place}" = ["{pad}", {number(value)}]' for (place, pad), value in pairs)
    return [*lines, f"readings = {{ {readings} }}"]
