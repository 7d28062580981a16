"""Writes a starter file: a weigh day without drafts, with a comment beside what a beginner has to fill in."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import field
from itertools import count as count_from
from itertools import islice

from steelyard.classes import dataclass
from steelyard.dayfile.fault import quoted
from steelyard.model import CouplingType
from steelyard.units import UnitSystem


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleAnswers:
    """The answers about one vehicle, in the file's units.

    Attributes
    ----------
    axles: places front to back [length unit]; 0 first for a towing vehicle, from the coupling point for a trailer.
    tracks: distance between wheel-end centres [length unit], one for each axle, or one for all.
    ratings: of each axle [mass unit]; None or left out where the label gives none.
    gross: gross rating [mass unit]. combination: gross combination rating [mass unit], towing vehicles only.
    payload: as on the label [mass unit].
    tyres: load limit of one tyre of each axle [mass unit], of a dual pair the limit of each of the two; None or left
    out where nobody has read the sidewall. dual: numbers of the axles, from 1, that have two tyres on each end.
    equalised: whether the axles of a trailer share load; of no meaning for one axle.
    id: what the file calls it; left out, ``tow`` or ``trailer``.
    """

    id: str = ""
    name: str = ""
    axles: tuple[float, ...]
    tracks: tuple[float, ...]
    ratings: tuple[float | None, ...] = ()
    gross: float | None = None
    combination: float | None = None
    payload: float | None = None
    tyres: tuple[float | None, ...] = ()
    dual: tuple[int, ...] = ()
    equalised: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CouplingAnswers:
    """The answers about the coupling: its place [length unit] and its ratings [mass unit], if any."""

    type: CouplingType = CouplingType.BALL
    x: float
    vertical: float | None = None
    gross: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteAnswers:
    """The answers about the place: its name and its ground in words; empty where nobody said."""

    name: str = ""
    surface: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PadAnswers:
    """The answers about the pads: how many, capacity and division [mass unit], height [length unit].

    ``known``: by name the blocks of a weigh-day file of pads that are described already; ``count`` are besides them.
    """

    count: int = 4
    capacity: float
    division: float
    height: float = 0.0
    known: Mapping[str, str] = field(default_factory=dict[str, str])

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all of them, the known ones first."""
        free = (name for number in count_from(1) if (name := f"p{number}") not in self.known)
        return (*self.known, *islice(free, self.count))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlatformAnswers:
    """The answers about a platform for the bed or the coupling: capacity, division, its own mass [mass unit]."""

    capacity: float
    division: float
    mass: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """The answers that make a starter file: what tows, with or without a trailer, or a trailer alone.

    A trailer behind a towing vehicle needs a coupling, a coupling no trailer.
    """

    title: str = "A weigh day"
    units: UnitSystem = UnitSystem()
    site: SiteAnswers = SiteAnswers()
    towing: VehicleAnswers | None
    trailer: VehicleAnswers | None = None
    coupling: CouplingAnswers | None = None
    pads: PadAnswers
    platform: PlatformAnswers | None = None


def starter(answers: Answers) -> str:
    """The text of a starter file; it reads without a fault where the answers make sense.

    Raises
    ------
    ValueError: no vehicle, or a trailer behind a vehicle without a coupling.
    """
    if answers.towing is None and answers.trailer is None:
        raise ValueError("there is no vehicle; a weigh day has one at least")
    if answers.towing is not None and answers.trailer is not None and answers.coupling is None:
        raise ValueError("a trailer needs a coupling: its type and its place on the towing vehicle")
    lines = [
        "# A weigh day for steelyard. Lines that begin with # are for you; take the # away where they fit.",
        "format = 1",
        f"title = {quoted(answers.title)}",
        f'units = {{ mass = "{answers.units.mass}", length = "{answers.units.length}" }}  # of numbers without a unit',
        "",
        *_site(answers.site),
        "",
        *_rules(answers.units),
        "",
        *_pads(answers.pads, answers.units),
        *_platform(answers.platform, answers.pads, answers.units),
        *_towing(answers),
        *_trailer(answers),
        *_cargo(answers),
        *_states(answers),
        *_drafts(answers),
    ]
    return "\n".join(lines) + "\n"


def _number(value: float) -> str:
    return f"{value:.10g}"


def _mass(value: float, units: UnitSystem) -> str:
    return f'"{_number(value)} {units.mass}"'


def _length(value: float, units: UnitSystem) -> str:
    return f'"{_number(value)} {units.length}"'


def _site(site: SiteAnswers) -> Iterator[str]:
    yield "[site]"
    yield f"name = {quoted(site.name)}" if site.name else '# name = ""'
    yield (
        f"surface = {quoted(site.surface)}"
        if site.surface
        else '# surface = "concrete"          # or "asphalt", "gravel", "dirt", "grass"; nobody has said'
    )
    yield '# slope_long = "0.3 deg"        # front higher is positive'
    yield '# slope_lat = "0 deg"           # left higher is positive'
    yield '# latitude = "45 deg"           # with elevation: for local gravity'
    yield '# elevation = "200 m"'
    yield '# unevenness = "2 mm"           # how much the ground differs in height under the wheels'


def _rules(units: UnitSystem) -> Iterator[str]:
    """The choice of rules of the road, which nobody makes for the owner."""
    us = units.mass == "lb"
    yield '# May it be driven like this? No law is judged that is not chosen here; "steelyard rules" lists the sets.'
    yield "# [rules]"
    yield f'# apply = ["{"us-interstate" if us else "eu-licence"}"]'
    yield f'# where = "{"US" if us else "EU"}"'
    yield '# use = "private"                 # or "commerce"'
    yield from [] if us else ['# licence = "B"']


def _pads(pads: PadAnswers, units: UnitSystem) -> Iterator[str]:
    for block in pads.known.values():
        yield from (*block.splitlines(), "")
    for number, name in enumerate(pads.names[len(pads.known) :], 1):
        yield f"[instruments.{name}]"
        yield 'kind = "pad"'
        yield f"capacity = {_mass(pads.capacity, units)}"
        yield f"division = {_mass(pads.division, units)}"
        if pads.height > 0.0:
            yield f"height = {_length(pads.height, units)}"
        elif number == 1:
            yield f"# height = {_length(_EXAMPLE_HEIGHT[units.length], units)}"
        if number == 1:
            yield '# span_uncertainty = "0.1 %"    # standard uncertainty of its span, from its verification'
            yield '# serial = "0000"'
            yield "# verified = 2026-01-31"
        yield ""


def _platform(platform: PlatformAnswers | None, pads: PadAnswers, units: UnitSystem) -> Iterator[str]:
    if platform is None:
        return
    yield f"[instruments.{_free('platform', pads.known)}]            # in the bed, or under a coupling point"
    yield 'kind = "platform"'
    yield f"capacity = {_mass(platform.capacity, units)}"
    yield f"division = {_mass(platform.division, units)}"
    if platform.mass is not None:
        yield f"mass = {_mass(platform.mass, units)}    # its own, which a vehicle carries with it in the bed"
    else:
        yield f"# mass = {_mass(60 if units.mass == 'lb' else 30, units)}    # its own, where it stands in the bed"
    yield ""


def _free(name: str, taken: Collection[str]) -> str:
    """The name, with a number where it is taken."""
    return next(one for number in count_from(1) if (one := name if number == 1 else f"{name}_{number}") not in taken)


def _towing(answers: Answers) -> Iterator[str]:
    units, vehicle = answers.units, answers.towing
    if vehicle is None:
        return
    key = _tow(answers)
    yield f"[vehicles.{key}]                    # x is measured rearward from the front axle"
    yield 'role = "towing"'
    yield f"name = {quoted(vehicle.name)}" if vehicle.name else '# name = ""'
    ratings = {"gvwr": vehicle.gross, "gcwr": vehicle.combination, "payload": vehicle.payload}
    yield from _ratings(ratings, units, example="gvwr")
    yield from _axles(key, vehicle, units)
    coupling = answers.coupling
    if coupling is not None:
        yield f"[vehicles.{key}.couplings.{coupling.type}]"
        yield f'type = "{coupling.type}"'
        yield f"x = {_length(coupling.x, units)}"
        stated = {"vertical": coupling.vertical, "gross": coupling.gross}
        pairs = [f"{key} = {_mass(value, units)}" for key, value in stated.items() if value is not None]
        yield f"rating = {{ {', '.join(pairs)} }}" if pairs else f"# rating = {{ vertical = {_mass(500, units)} }}"
    yield ""


def _ratings(ratings: dict[str, float | None], units: UnitSystem, *, example: str) -> Iterator[str]:
    pairs = [f"{key} = {_mass(value, units)}" for key, value in ratings.items() if value is not None]
    yield (
        f"ratings = {{ {', '.join(pairs)} }}"
        if pairs
        else f"# ratings = {{ {example} = {_mass(3500, units)} }}  # off the label"
    )


def _axles(key: str, vehicle: VehicleAnswers, units: UnitSystem) -> Iterator[str]:
    shared = vehicle.equalised and len(vehicle.axles) > 1
    for index, x in enumerate(vehicle.axles):
        yield f"[[vehicles.{key}.axles]]"
        yield f"x = {_length(x, units)}"
        yield f"track = {_length(_of_axle(vehicle.tracks, index), units)}"
        rating = vehicle.ratings[index] if index < len(vehicle.ratings) else None
        yield f"rating = {_mass(rating, units)}" if rating is not None else f"# rating = {_mass(3500, units)}"
        yield from _tyres(vehicle, index, units)
        if shared:
            yield 'group = "rear"'
            yield 'sharing = "equalised"'


def _tyres(vehicle: VehicleAnswers, index: int, units: UnitSystem) -> Iterator[str]:
    """The load limit of a wheel end, which is that of both tyres of a dual pair."""
    dual = index + 1 in vehicle.dual
    tyre = vehicle.tyres[index] if index < len(vehicle.tyres) else None
    if tyre is not None:
        both = f"    # two tyres of {_number(tyre)} {units.mass}" if dual else ""
        yield f"wheel_rating = {_mass(tyre * (2 if dual else 1), units)}{both}"
    elif index == 0:
        yield f"# wheel_rating = {_mass(1750, units)}    # load limit of a wheel end, off the sidewall"
    if dual:
        yield "dual = true"


def _of_axle(values: Sequence[float], index: int) -> float:
    """The value of an axle, or the last one where one stands for all that follow."""
    return values[min(index, len(values) - 1)]


def _trailer(answers: Answers) -> Iterator[str]:
    units, vehicle = answers.units, answers.trailer
    if vehicle is None:
        return
    key = _behind(answers)
    yield f"[vehicles.{key}]                # x is measured rearward from its coupling point"
    yield 'role = "trailer"'
    yield f"name = {quoted(vehicle.name)}" if vehicle.name else '# name = ""'
    yield from _ratings({"gvwr": vehicle.gross, "payload": vehicle.payload}, units, example="gvwr")
    yield from _axles(key, vehicle, units)
    yield ""


def _tow(answers: Answers) -> str:
    return (answers.towing and answers.towing.id) or "tow"


def _behind(answers: Answers) -> str:
    return (answers.trailer and answers.trailer.id) or "trailer"


def _cargo(answers: Answers) -> Iterator[str]:
    units, towing = answers.units, answers.towing is not None
    name = "driver" if towing else "crate"
    yield "# People, tanks, tools. Leave the mass or the place out where it is not known."
    yield f"# [cargo.{name}]"
    yield f'# on = "{_tow(answers) if towing else _behind(answers)}"'
    yield f"# mass = {_mass(190 if units.mass == 'lb' else 85, units)}"
    yield f"# x = {_length(_EXAMPLE_LENGTH[units.length], units)}"
    yield ""


_EXAMPLE_HEIGHT = {"in": 2.5, "ft": 0.2, "mm": 60.0, "cm": 6.0, "m": 0.06}
_EXAMPLE_LENGTH = {"in": 60.0, "ft": 5.0, "mm": 1500.0, "cm": 150.0, "m": 1.5}


def _states(answers: Answers) -> Iterator[str]:
    tow, trailer = _tow(answers), _behind(answers)
    if answers.towing is None:
        yield "[states.alone]                    # on its wheels and on a stand under its coupling point"
        yield f'vehicles = ["{trailer}"]'
        yield ""
        return
    yield "[states.solo]"
    yield f'vehicles = ["{tow}"]'
    if answers.trailer is not None and answers.coupling is not None:
        yield "[states.hitched]"
        yield f'vehicles = ["{tow}", "{trailer}"]'
        ends = f'towing = "{tow}", at = "{answers.coupling.type}", trailer = "{trailer}"'
        yield f"couple = {{ {ends} }}"
        if answers.coupling.type in (CouplingType.BALL, CouplingType.PINTLE):
            yield "# [states.distributed]            # the same with the bars of the hitch under load"
            yield f'# vehicles = ["{tow}", "{trailer}"]'
            yield f"# couple = {{ {ends}, weight_distribution = true }}"
    yield ""


def _drafts(answers: Answers) -> Iterator[str]:
    pads = answers.pads.names
    example = f'["{pads[0] if pads else "p1"}", 2960]'
    yield "# One draft for each set of readings taken at the same time. Take the # away and write what each pad showed"
    yield f"# after its name, as in {example}. A pad without a number is still to be read, and the file says so."
    towing, trailer = answers.towing, answers.trailer
    if towing is not None:
        yield from _example("solo", _tow(answers), len(towing.axles), pads)
        if trailer is not None:
            yield from _example("hitched", _tow(answers), len(towing.axles), pads)
    if trailer is not None:
        state = "alone" if towing is None else "hitched"
        yield from _example(state, _behind(answers), len(trailer.axles), pads)


def _example(state: str, vehicle: str, axles: int, pads: Sequence[str]) -> Iterator[str]:
    wheels = [f"{vehicle}/{number}{side}" for number in range(1, axles + 1) for side in "LR"]
    pairs = [f'"{wheel}" = ["{pad}"]' for wheel, pad in zip(wheels, pads, strict=False)]
    yield "# [[drafts]]"
    yield f'# state = "{state}"'
    yield f"# readings = {{ {', '.join(pairs)} }}"
