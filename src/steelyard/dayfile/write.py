"""Writes a weigh day as TOML text that reads back to an equal one, to the last bit of every number."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator, Mapping

from steelyard.dayfile.fault import quoted, show_path
from steelyard.dayfile.parts import write_marked, write_tyre
from steelyard.dayfile.photographs.record import photograph_values
from steelyard.model import (
    Axle,
    Cargo,
    ChosenRules,
    Correction,
    Coupling,
    Distribution,
    DistributionKind,
    Draft,
    Instrument,
    Link,
    Marked,
    Papers,
    Photograph,
    Record,
    Sharing,
    Site,
    State,
    Unloaded,
    Vehicle,
    WeighDay,
)
from steelyard.units import UNITS, Dimension, Quantity, UnitSystem, units_of


def write_day(day: WeighDay) -> str:
    """The text of a weigh-day file, in the day's own units.

    A value that these units cannot give back exactly, or only by a long number, is written in another. A share that no
    percentage gives exactly may come back off by its last bit; none that was read from a file is such.
    """
    pen = _Pen(day.units)
    units = f'{{ mass = "{day.units.mass}", length = "{day.units.length}" }}'
    head = ["format = 1", *_pairs({"title": _text((*day.earlier_titles, day.title)[0])}), f"units = {units}"]
    blocks = [head, _block("[site]", pen.site(day.site)), _block("[record]", _record(day.record))]
    blocks.append(_block("[rules]", _rules((*day.earlier_rules, day.rules)[0])))
    for name, instrument in day.instruments.items():
        blocks.append([f"[{show_path(('instruments', name))}]", *_pairs(pen.instrument(instrument))])
    for name, vehicle in day.vehicles.items():
        blocks.append(list(pen.vehicle(name, vehicle)))
    for name, cargo in day.cargo.items():
        blocks.append([f"[{show_path(('cargo', name))}]", *_pairs(pen.cargo(cargo))])
    for name, state in day.states.items():
        blocks.append([f"[{show_path(('states', name))}]", *pen.state(state)])
    blocks.extend(["[[drafts]]", *pen.draft(draft)] for draft in day.drafts)
    blocks.extend(["[[corrections]]", *_pairs(pen.correction(item))] for item in day.corrections)
    blocks.extend(["[[rule_choices]]", *_pairs(_choice(item))] for item in day.rule_choices)
    blocks.extend(["[[photographs]]", *_pairs(_photograph(item))] for item in day.photographs)
    blocks.extend(["[[titles]]", *_pairs({"title": quoted(item)})] for item in day.later_titles)
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def write_draft(day: WeighDay, draft: Draft) -> str:
    """The block of one draft, to stand at the end of the text of ``day``."""
    return _lines("[[drafts]]", _Pen(day.units).draft(draft))


def write_planned(day: WeighDay, draft: Draft) -> str:
    """The block of one draft that is still to be taken: each reading has its instrument and room for what it shows."""
    return _lines("[[drafts]]", _Pen(day.units).draft(draft, empty=True))


def write_correction(day: WeighDay, correction: Correction) -> str:
    """The block of one correction; it names its draft by the key, where it has one."""
    values = dict(_Pen(day.units).correction(correction))
    key = None if correction.state is not None else day.drafts[correction.draft - 1].key
    if key is not None:
        values["draft"] = quoted(key)
    return _lines("[[corrections]]", _pairs(values))


def write_photograph(day: WeighDay, item: Photograph) -> str:
    """The block of one photograph; it names its draft by the key, where it has one."""
    values = dict(_photograph(item))
    key = day.drafts[item.draft - 1].key
    if key is not None:
        values["draft"] = quoted(key)
    return _lines("[[photographs]]", _pairs(values))


def write_choice(rules: ChosenRules) -> str:
    """The block of one choice of rules, which counts instead of those before it."""
    return _lines("[[rule_choices]]", _pairs(_choice(rules)))


def write_title(title: str) -> str:
    """The block of one later title, which counts instead of those before it."""
    return _lines("[[titles]]", _pairs({"title": quoted(title)}))


def write_state(day: WeighDay, state: State) -> str:
    """The block of one state."""
    return _lines(f"[{show_path(('states', state.id))}]", _Pen(day.units).state(state))


def write_cargo(day: WeighDay, cargo: Cargo) -> str:
    """The block of one cargo."""
    return _lines(f"[{show_path(('cargo', cargo.id))}]", _pairs(_Pen(day.units).cargo(cargo)))


def write_instrument(instrument: Instrument, units: UnitSystem) -> str:
    """The block of one instrument; every value says its unit, so it can stand in any day."""
    return _lines(f"[{show_path(('instruments', instrument.id))}]", _pairs(_Pen(units).instrument(instrument)))


def write_vehicle(vehicle: Vehicle, units: UnitSystem) -> str:
    """The blocks of one vehicle; every value says its unit, so it can stand in any day."""
    header, *lines = _Pen(units).vehicle(vehicle.id, vehicle)
    return _lines(header, lines)


def _lines(header: str, lines: Iterable[str]) -> str:
    return "\n".join([header, *lines]) + "\n"


_WIDTH = 120  # characters of a line, beyond which readings stand one below the other

_Values = Mapping[str, str | None]
"""Values as TOML text by key; None where the key is left out."""


def _pairs(values: _Values) -> list[str]:
    return [f"{show_path((key,))} = {value}" for key, value in values.items() if value is not None]


def _inline(values: _Values) -> str | None:
    """A table on one line; None where it would be empty."""
    pairs = _pairs(values)
    return "{ " + ", ".join(pairs) + " }" if pairs else None


def _block(header: str, values: _Values) -> list[str]:
    pairs = _pairs(values)
    return [header, *pairs] if pairs else []


def _text(text: str) -> str | None:
    return quoted(text) if text else None


def _flag(value: bool) -> str | None:
    return "true" if value else None


def _answer(value: bool | None) -> str | None:
    """Yes or no where the file says either."""
    return None if value is None else str(value).lower()


def _moment(at: datetime.datetime | None) -> str | None:
    return None if at is None else at.isoformat().replace("+00:00", "Z")


def _names(names: Iterable[str]) -> str:
    return "[" + ", ".join(quoted(name) for name in names) + "]"


def _rules(rules: ChosenRules) -> _Values:
    """The table of chosen rules; a rule set from a file of the user's has no name that another file could use."""
    names = [quoted(item.id) for item in rules.sets if not item.own]
    licence = None if rules.licence is None else [quoted(item) for item in rules.licence]
    return {
        "apply": f"[{', '.join(names)}]" if names else None,
        "where": _text(rules.where),
        "use": None if rules.use is None else quoted(rules.use),
        "licence": None if licence is None else f"[{', '.join(licence)}]",
        "from_memory": _flag(rules.from_memory),
    }


def _photograph(item: Photograph) -> _Values:
    """The keys of a photograph."""
    return {**photograph_values(item), "at": _moment(item.at)}


def _choice(rules: ChosenRules) -> _Values:
    """The keys of a later choice, which says so where nothing applies any more."""
    return {**_rules(rules), "apply": _names(item.id for item in rules.sets if not item.own)}


def _count(value: int | None) -> str | None:
    return None if value is None else str(value)


_PAPER_MASSES = ("running_order", "kerb", "braked", "unbraked", "coupling")


def _record(record: Record) -> _Values:
    return {
        "tester": _text(record.tester),
        "owner": _text(record.owner),
        "date": None if record.date is None else record.date.isoformat(),
        "note": _text(record.note),
    }


def _plain(value: float) -> str:
    text = repr(value)
    return text.removesuffix(".0")


def _short_number(value: float, factor: float) -> str | None:
    """A number of nine figures at most that times ``factor`` gives ``value`` exactly; None where there is none."""
    near = float(f"{value / factor:.9g}")
    return _plain(near) if near * factor == value else None


def _exact_number(value: float, factor: float) -> str | None:
    """A number that times ``factor`` gives ``value`` exactly; None where there is none."""
    guess = value / factor
    for near in (float(f"{guess:.15g}"), guess, math.nextafter(guess, math.inf), math.nextafter(guess, -math.inf)):
        if near * factor == value:
            return _plain(near)
    return None


def _in_some_unit(value: float, dimension: Dimension, wanted: str) -> tuple[str, str]:
    """A number and the unit in which it stands for ``value`` [SI]: the wanted unit, or one that gives it exactly."""
    number = _short_number(value, UNITS[wanted].factor)
    if number is not None:
        return number, wanted
    texts = [(_short_number(value, UNITS[symbol].factor), symbol) for symbol in _COMMON[dimension]]
    short = [(number, symbol) for number, symbol in texts if number is not None]
    if short:
        return min(short, key=lambda text: len(text[0]))
    for symbol in (wanted, _EXACT[dimension]):
        number = _exact_number(value, UNITS[symbol].factor)
        if number is not None:
            return number, symbol
    return _plain(value / UNITS[wanted].factor), wanted


_COMMON: dict[Dimension, tuple[str, ...]] = {
    Dimension.MASS: ("kg", "lb"),
    Dimension.LENGTH: ("mm", "m", "in", "ft"),
    Dimension.RATE: ("kg/m", "lb/in"),
    Dimension.ROLL_RATE: ("kg*m/rad", "lb*in/rad", "lb*ft/rad"),
    Dimension.COUPLE: ("kg*m", "lb*in", "lb*ft"),
    Dimension.ANGLE: ("mrad",),
    Dimension.DENSITY: ("kg/m3", "kg/L", "lb/gal", "lb/ft3"),
    Dimension.VOLUME: ("L", "gal"),
    Dimension.SHARE: (),
    Dimension.MASS_FLOW: ("kg/h", "lb/h"),
    Dimension.VOLUME_FLOW: ("L/h", "gal/h"),
    Dimension.FORCE: ("kN", "N", "lbf"),
    Dimension.PRESSURE: ("psi", "kPa", "bar"),
}
"""The units that people use where the day's own unit would give a long number."""

_EXACT = {
    dimension: next(
        symbol for symbol in units_of(dimension) if dimension is Dimension.SHARE or UNITS[symbol].factor == 1.0
    )
    for dimension in Dimension
}
"""The SI unit of each dimension, which gives every value exactly; a share has no unit but the percent."""


class _Pen:
    """Writes values in one system of units."""

    def __init__(self, units: UnitSystem) -> None:
        self._units = units

    def quantity(self, quantity: Quantity | None, dimension: Dimension) -> str | None:
        """``"176 in +/- 0.25 in"``, or None for None."""
        if quantity is None:
            return None
        number, symbol = _in_some_unit(quantity.value, dimension, self._units.symbol(dimension))
        if quantity.u is None:
            return f'"{number} {symbol}"'
        u_number, u_symbol = _in_some_unit(quantity.u, dimension, symbol)
        return f'"{number} {symbol} +/- {u_number} {u_symbol}"'

    def amount(self, value: float | None, dimension: Dimension) -> str | None:
        """A value without uncertainty, or None for None."""
        return None if value is None else self.quantity(Quantity(value), dimension)

    def mass(self, value: float | None) -> str | None:
        """A mass [kg] without uncertainty."""
        return self.amount(value, Dimension.MASS)

    def nonzero(self, value: float, dimension: Dimension) -> str | None:
        """A value whose key may be left out where it is zero."""
        return self.amount(value, dimension) if value != 0.0 else None

    def load(self, value: float) -> str:
        """A reading [kg]: a bare number where the file's unit can give it."""
        number, symbol = _in_some_unit(value, Dimension.MASS, self._units.mass)
        return number if symbol == self._units.mass else f'"{number} {symbol}"'

    def site(self, site: Site) -> _Values:
        """The keys of the site."""
        return {
            "name": _text(site.name),
            "surface": _text(site.surface),
            "slope_long": self.quantity(site.slope_long, Dimension.ANGLE),
            "slope_lat": self.quantity(site.slope_lat, Dimension.ANGLE),
            "latitude": self.quantity(site.latitude, Dimension.ANGLE),
            "elevation": self.quantity(site.elevation, Dimension.LENGTH),
            "unevenness": self.amount(site.unevenness, Dimension.LENGTH),
            "pad_sink": self.quantity(site.pad_sink, Dimension.LENGTH),
        }

    def instrument(self, item: Instrument) -> _Values:
        """The keys of an instrument."""
        return {
            "kind": quoted(item.kind),
            "capacity": self.mass(item.capacity),
            "division": self.mass(item.division),
            "height": None if item.height == Quantity(0.0) else self.quantity(item.height, Dimension.LENGTH),
            "span": self.nonzero(item.span, Dimension.SHARE),
            "span_uncertainty": self.amount(item.span_uncertainty, Dimension.SHARE),
            "repeatability": self.mass(item.repeatability),
            "zero_uncertainty": self.nonzero(item.zero_uncertainty, Dimension.MASS),
            "set": None if item.set is None else quoted(item.set),
            "set_uncertainty": self.nonzero(item.set_uncertainty, Dimension.SHARE),
            "standard": None if item.standard is None else quoted(item.standard),
            "standard_uncertainty": self.nonzero(item.standard_uncertainty, Dimension.SHARE),
            "span_drift": self.nonzero(item.span_drift, Dimension.SHARE),
            "eccentricity": self.nonzero(item.eccentricity, Dimension.SHARE),
            "serial": _text(item.serial),
            "verified": None if item.verified is None else item.verified.isoformat(),
            "due": None if item.due is None else item.due.isoformat(),
            "mass": None if item.mass is None else self.quantity(item.mass, Dimension.MASS),
            "verified_latitude": self.quantity(item.verified_latitude, Dimension.ANGLE),
            "verified_elevation": self.quantity(item.verified_elevation, Dimension.LENGTH),
        }

    def vehicle(self, name: str, vehicle: Vehicle) -> Iterator[str]:
        """The lines of a vehicle with its axles and couplings."""
        ratings = vehicle.ratings
        path = show_path(("vehicles", name))
        yield f"[{path}]"
        yield from _pairs(
            {
                "role": quoted(vehicle.role),
                "name": _text(vehicle.name),
                "serial": _text(vehicle.serial),
                "plate": _text(vehicle.plate),
                "ratings": _inline(
                    {key: self.mass(getattr(ratings, key)) for key in ("gvwr", "gcwr", "towed", "payload")}
                ),
                "cg_height": self.quantity(vehicle.cg_height, Dimension.LENGTH),
                "coupling_height": self.quantity(vehicle.coupling_height, Dimension.LENGTH),
                "load_floor": self._floor(vehicle.load_floor),
                "unloaded": self._unloaded(vehicle.unloaded),
                "class": _text(vehicle.papers.category),
                "papers": self._papers(vehicle.papers),
                "marked": self._marked(vehicle.marked),
            }
        )
        for axle in vehicle.axles:
            yield from (f"[[{path}.axles]]", *_pairs(self._axle(axle)))
        for key, coupling in vehicle.couplings.items():
            header = show_path(("vehicles", name, "couplings", key))
            yield from (f"[{header}]", *_pairs(self._coupling(coupling)))

    def _floor(self, corners: tuple[tuple[float, float], ...]) -> str | None:
        pairs = [", ".join(self.amount(value, Dimension.LENGTH) or "" for value in corner) for corner in corners]
        return "[" + ", ".join(f"[{pair}]" for pair in pairs) + "]" if pairs else None

    def _unloaded(self, unloaded: Unloaded | None) -> str | None:
        if unloaded is None:
            return None
        places = {key: self.quantity(getattr(unloaded, key), Dimension.LENGTH) for key in ("x", "y")}
        return _inline({"mass": self.quantity(unloaded.mass, Dimension.MASS), **places})

    def _papers(self, papers: Papers) -> str | None:
        masses = {key: self.mass(getattr(papers, key)) for key in _PAPER_MASSES}
        return _inline(
            {
                "seats": _count(papers.seats),
                "berths": _count(papers.berths),
                **masses,
                "length": self.amount(papers.length, Dimension.LENGTH),
                "brakes": None if papers.brakes is None else quoted(papers.brakes),
                "off_road": _flag(papers.off_road),
                "roof": self.mass(papers.roof),
                "load_length": self.amount(papers.load_length, Dimension.LENGTH),
                "type": None if papers.type is None else quoted(papers.type),
            }
        )

    def _axle(self, axle: Axle) -> _Values:
        return {
            "x": self.quantity(axle.x, Dimension.LENGTH),
            "track": self.quantity(axle.track, Dimension.LENGTH),
            "rating": self.mass(axle.rating),
            "wheel_rating": self.mass(axle.wheel_rating),
            "ride_rate": self.quantity(axle.ride_rate, Dimension.RATE),
            "roll_rate": self.quantity(axle.roll_rate, Dimension.ROLL_RATE),
            "group": None if axle.group is None else quoted(axle.group),
            "sharing": quoted(axle.sharing) if axle.sharing is not Sharing.INDEPENDENT else None,
            "friction": self.amount(axle.friction, Dimension.SHARE),
            "dual": _flag(axle.dual),
            "driven": _answer(axle.driven),
            "steered": _answer(axle.steered),
            "air": _answer(axle.air),
            "loaded_radius": self.quantity(axle.loaded_radius, Dimension.LENGTH),
            "tyre": None if axle.tyre is None else _inline(write_tyre(axle.tyre, self.amount)) or "{}",
        }

    def _marked(self, plates: tuple[Marked, ...]) -> str | None:
        tables = [_inline(values) or "{}" for values in write_marked(plates, self.amount)]
        return tables[0] if len(tables) == 1 else f"[{', '.join(tables)}]" if tables else None

    def _coupling(self, coupling: Coupling) -> _Values:
        rating = {"vertical": self.mass(coupling.vertical), "gross": self.mass(coupling.gross)}
        return {
            "type": quoted(coupling.type),
            "x": self.quantity(coupling.x, Dimension.LENGTH),
            "rating": _inline(rating),
            "roll_rate": self.quantity(coupling.roll_rate, Dimension.ROLL_RATE),
            "marked": self._marked(coupling.marked),
        }

    def cargo(self, cargo: Cargo) -> _Values:
        """The keys of a cargo."""
        quantities = {key: getattr(cargo, key) for key in _CARGO_DIMENSIONS}
        return {
            "on": quoted(cargo.on),
            "name": _text(cargo.name),
            "movable": _flag(cargo.movable),
            "roof": _flag(cargo.roof),
            **self._quantities(quantities),
            "rate": self.quantity(cargo.rate, Dimension.MASS_FLOW)
            or self.quantity(cargo.volume_rate, Dimension.VOLUME_FLOW),
        }

    def _quantities(self, quantities: Mapping[str, Quantity | None]) -> _Values:
        return {key: self.quantity(value, _CARGO_DIMENSIONS[key]) for key, value in quantities.items()}

    def state(self, state: State) -> list[str]:
        """The lines of a state, what it changes last."""
        links = [_inline(self._link(link)) or "" for link in state.links]
        couple = None if not links else links[0] if len(links) == 1 else "[" + ", ".join(links) + "]"
        lines = _pairs({"vehicles": _names(state.vehicles), "couple": couple})
        if state.cargo:
            lines.append(f"cargo = {_names(state.cargo)}")
        if state.lifted:
            axles = tuple(f"{name}/{axle}" for name, up in state.lifted.items() for axle in sorted(up))
            lines.append(f"lifted = {_names(axles)}")
        for name, change in state.change.items():
            path = show_path(("change", name))
            pairs = _pairs(self._quantities(change))
            lines.extend([f"{path}.{pair}" for pair in pairs] or [f"{path} = {{}}"])
        return lines

    def _link(self, link: Link) -> _Values:
        rate = link.distribution.rate
        return {
            "towing": quoted(link.towing),
            "at": quoted(link.at),
            "trailer": quoted(link.trailer),
            "weight_distribution": self._distribution(link.distribution),
            "weight_distribution_rate": None if rate == Quantity(0.0) else self.quantity(rate, Dimension.ROLL_RATE),
            "height_change": self.quantity(link.height_change, Dimension.LENGTH),
        }

    def _distribution(self, distribution: Distribution) -> str | None:
        match distribution.kind:
            case DistributionKind.NONE:
                return None
            case DistributionKind.UNKNOWN:
                return "true"
            case DistributionKind.STATED:
                return self.quantity(distribution.value, Dimension.COUPLE)
            case DistributionKind.SAME:
                return _inline({"as": quoted(distribution.state or "")})

    def draft(self, draft: Draft, *, empty: bool = False) -> list[str]:
        """The lines of a draft, its readings last; with room for what is still to be read where ``empty``."""
        readings = {
            reading.place.text: f"[{quoted(reading.instrument)}, {'' if empty else self.load(reading.value)}]"
            for reading in draft.readings
        }
        lines = _pairs(
            {
                "state": quoted(draft.state),
                "key": None if draft.key is None else quoted(draft.key),
                "at": _moment(draft.at),
                "label": _text(draft.label),
                "note": _text(draft.note),
                "placement": None if draft.placement is None else quoted(draft.placement),
                "unsupported": '"ground"' if draft.on_ground else None,
                "heading": '"reversed"' if draft.reversed else None,
                "raised": _inline({item.place: self.quantity(item.height, Dimension.LENGTH) for item in draft.raised}),
                "suspension": '"blocked"' if draft.blocked else None,
                "blocks": f"[{', '.join(quoted(str(wheel)) for wheel in draft.blocks)}]" if draft.blocks else None,
            }
        )
        in_line = f"readings = {_inline(readings) or '{}'}"
        return [*lines, in_line] if len(in_line) <= _WIDTH else [*lines, "[drafts.readings]", *_pairs(readings)]

    def correction(self, item: Correction) -> _Values:
        """The keys of a correction."""
        if item.state is not None:
            return {
                "state": quoted(item.state),
                "label": None if item.label is None else quoted(item.label),
                "away": None if item.away is None else str(item.away).lower(),
                "reason": quoted(item.reason),
                "at": _moment(item.at),
            }
        if item.label is not None:
            return {
                "draft": str(item.draft),
                "label": quoted(item.label),
                "reason": quoted(item.reason),
                "at": _moment(item.at),
            }
        return {
            "draft": str(item.draft),
            "place": quoted(item.place),
            "value": None if item.value is None else self.load(item.value),
            "reason": quoted(item.reason),
            "at": _moment(item.at),
        }


_CARGO_DIMENSIONS = {
    "mass": Dimension.MASS,
    "volume": Dimension.VOLUME,
    "density": Dimension.DENSITY,
    "level": Dimension.SHARE,
    "x": Dimension.LENGTH,
    "y": Dimension.LENGTH,
    "z": Dimension.LENGTH,
}
