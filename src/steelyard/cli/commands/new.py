"""``steelyard new``: write a commented starter file for a weigh day."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import click

from steelyard.cli.ask import Prompter, hint
from steelyard.cli.options import FileName, say_faults, units_option
from steelyard.cli.say import say, say_error
from steelyard.dayfile import (
    Answers,
    CouplingAnswers,
    DayFileError,
    PadAnswers,
    PlatformAnswers,
    VehicleAnswers,
    parse_day,
    starter,
)
from steelyard.model import CouplingType
from steelyard.units import UnitSystem

MOST_AXLES = 4
_STEP = 1.2  # from one axle of a group to the next, as a share of the place of the first: only ever a default
_TYRE = "Load limit of one tyre, off its sidewall (of dual wheels the figure for duals), axle"
_OVERHANG = {"in": 48.0, "ft": 4.0, "mm": 1200.0, "cm": 120.0, "m": 1.2}

_FLAGS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("--title", {"help": "What the day is called."}),
    ("--name", {"help": "What the towing vehicle is called."}),
    ("--axle", {"multiple": True, "metavar": "LENGTH", "help": "From the front axle back; give it again for axle 3."}),
    ("--track", {"metavar": "LENGTH", "help": "Between the wheel centres of the towing vehicle."}),
    ("--gvwr", {"metavar": "MASS", "help": "Gross rating of the towing vehicle."}),
    ("--payload", {"metavar": "MASS", "help": "Payload of the towing vehicle, as on its label."}),
    ("--gcwr", {"metavar": "MASS", "help": "Gross rating of the combination."}),
    ("--rating", {"multiple": True, "metavar": "MASS", "help": "Of axle 1; again for axle 2, and so on."}),
    ("--dual", {"multiple": True, "metavar": "NUMBER", "help": "An axle with dual wheels; again for another."}),
    ("--tyre", {"multiple": True, "metavar": "MASS", "help": "Load limit of one tyre of axle 1; again for axle 2."}),
    ("--hitch/--no-hitch", {"default": None, "help": "Whether it has a coupling, where there is no trailer."}),
    ("--trailer/--no-trailer", {"default": None, "help": "Whether there is one."}),
    ("--trailer-name", {"help": "What the trailer is called."}),
    ("--trailer-axle", {"multiple": True, "metavar": "LENGTH", "help": "Coupling point to axle 1; again for axle 2."}),
    ("--trailer-track", {"metavar": "LENGTH", "help": "Between the wheel centres of the trailer."}),
    ("--trailer-gvwr", {"metavar": "MASS", "help": "Gross rating of the trailer."}),
    ("--trailer-payload", {"metavar": "MASS", "help": "Payload of the trailer, as on its label."}),
    ("--trailer-rating", {"multiple": True, "metavar": "MASS", "help": "Of its axle 1; again for axle 2."}),
    ("--trailer-dual", {"multiple": True, "metavar": "NUMBER", "help": "An axle of it with dual wheels."}),
    ("--trailer-tyre", {"multiple": True, "metavar": "MASS", "help": "Load limit of one tyre of its axle 1."}),
    ("--equalised/--independent", {"default": None, "help": "Whether the trailer's axles share load."}),
    ("--coupling", {"metavar": "TYPE", "help": "ball, pintle, gooseneck or fifth_wheel."}),
    ("--coupling-at", {"metavar": "LENGTH", "help": "From the front axle back to the coupling."}),
    ("--coupling-rating", {"metavar": "MASS", "help": "Vertical rating of the coupling."}),
    ("--pads", {"metavar": "NUMBER", "help": "How many wheel pads there are."}),
    ("--pad-capacity", {"metavar": "MASS", "help": "What one pad can carry."}),
    ("--pad-division", {"metavar": "MASS", "help": "The step in which a pad shows its load."}),
    ("--pad-height", {"metavar": "LENGTH", "help": "From the ground to the top of a pad."}),
    ("--platform/--no-platform", {"default": None, "help": "Whether there is one for the bed or the coupling."}),
    ("--platform-capacity", {"metavar": "MASS", "help": "The most that the platform can carry."}),
    ("--platform-division", {"metavar": "MASS", "help": "The step in which the platform shows its load."}),
    ("--platform-mass", {"metavar": "MASS", "help": "Mass of the platform itself."}),
)  # fmt: skip


def _with_flags(command: Callable[..., None]) -> Callable[..., None]:
    for name, keys in reversed(_FLAGS):
        command = click.option(name, **keys)(command)
    return command


@click.command()
@click.option("-o", "--output", type=FileName(path_type=Path), default="weigh-day.toml", help="The file to write.")
@click.option("--force", is_flag=True, help="Overwrite the file if it is there already.")
@click.option("--no-questions", is_flag=True, help="Ask nothing; what no flag says takes a default.")
@units_option(default="lb,in", help="Of the file and of bare answers, as in lb,in or kg,mm.")
@_with_flags
@click.pass_context
def new(ctx: click.Context, output: Path, *, force: bool, no_questions: bool, units: UnitSystem, **flags: Any) -> None:
    """Write a commented starter file for a weigh day.

    Asks for the axles, their places and ratings, and the pads; a flag answers its question beforehand. Answers may
    carry a unit, as in "14.5 ft".
    """
    if output.exists() and not force:
        say_error(f"{output}: is there already; give another name with -o, or --force to overwrite it")
        ctx.exit(2)
    _check_units(units)
    if not no_questions:
        say_error(
            f"Masses in {units.mass}, lengths in {units.length}, or with a unit. Enter takes what is in brackets.\n"
        )
    text = starter(_answers(Prompter(flags, units, questions=not no_questions), units, flags))
    try:
        parse_day(text, str(output))
    except DayFileError as error:
        say_error("These answers do not make a sound file:")
        say_faults(error)
        ctx.exit(2)
    _write(ctx, output, text, force=force)
    say(f"{output}\nFill in what the pads read, then run: steelyard check {output}")


def _check_units(units: UnitSystem) -> None:
    """A file may declare fewer units than answers may have; say so before anything is asked."""
    try:
        parse_day(f'format = 1\nunits = {{ mass = "{units.mass}", length = "{units.length}" }}\n', "")
    except DayFileError as error:
        reasons = "; ".join(f"{fault.value} {fault.message}" for fault in error.faults)
        raise click.BadParameter(reasons, param_hint=hint("units")) from None


def _write(ctx: click.Context, output: Path, text: str, *, force: bool) -> None:
    """Write the file; without ``force`` never over one that came into being meanwhile."""
    try:
        with output.open("w" if force else "x", encoding="utf-8") as stream:
            stream.write(text)
    except OSError as error:
        say_error(f"{output}: cannot be written: {error.strerror or error}")
        ctx.exit(2)


def _answers(ask: Prompter, units: UnitSystem, flags: dict[str, Any]) -> Answers:
    title = ask.text("title", "What is the day called?", default="A weigh day")
    towing = _towing(ask)
    trailer = coupling = None
    if _with_trailer(ask, flags):
        trailer = _trailer(ask)
        coupling = _coupling(ask, towing, units)
    elif _with_hitch(ask, flags):
        coupling = _coupling(ask, towing, units)
    pads, platform = _pads(ask), _platform(ask, flags)
    return Answers(
        title=title, units=units, towing=towing, trailer=trailer, coupling=coupling, pads=pads, platform=platform
    )


def _given(flags: dict[str, Any], *starts: str) -> list[str]:
    """The flags that were given, of those whose names begin so."""
    named = [key for key in flags if key.startswith(starts)]
    return [key for key in named if flags[key] is not None and flags[key] != ()]


def _refuse(flag: str, value: bool | None, others: list[str]) -> None:
    """See that nobody who says ``no`` to a thing says more of it."""
    if value is False and others:
        raise click.UsageError(f"--no-{flag} does not go with {hint(others[0])}")


def _with_trailer(ask: Prompter, flags: dict[str, Any]) -> bool:
    """Whether there is a trailer; a flag that speaks of it, or of its coupling, spares the question."""
    of_trailer = _given(flags, "trailer_", "equalised")
    _refuse("trailer", flags["trailer"], of_trailer)
    if of_trailer or (flags["trailer"] is None and flags["hitch"] is None and _given(flags, "coupling")):
        return True
    if flags["hitch"] and flags["trailer"] is None:
        return False
    return ask.yes("trailer", "Is there a trailer?", default=False)


def _with_hitch(ask: Prompter, flags: dict[str, Any]) -> bool:
    """Whether a vehicle without a trailer has a coupling, so that a trailer can be hitched to it on paper."""
    of_coupling = _given(flags, "coupling")
    _refuse("hitch", flags["hitch"], of_coupling)
    question = "Has it a hitch or another coupling, for a trailer on another day?"
    return bool(of_coupling) or ask.yes("hitch", question, default=False)


def _towing(ask: Prompter) -> VehicleAnswers:
    name = ask.text("name", "What is the towing vehicle called, if it has a name?", default="")
    places = ask.lengths("axle")
    if not places:
        count = ask.count("", "How many axles has it?", default=2, lowest=2, highest=MOST_AXLES)
        places = _places(ask, count - 1, start=2, origin="front axle", first=("160 in", "4000 mm"))
    axles = _rising((0.0, *places), "axle")
    return VehicleAnswers(
        name=name,
        axles=axles,
        tracks=(ask.length("track", "Distance between its wheel centres, side to side", default=("68 in", "1700 mm")),),
        ratings=ask.ratings("rating", "Rating (GAWR) of axle", len(axles)),
        gross=ask.rating("gvwr", "Its gross rating (GVWR)"),
        payload=ask.rating("payload", "Its payload, as on the label"),
        combination=ask.rating("gcwr", "Gross rating of the combination (GCWR)"),
        dual=_dual(ask, "dual", len(axles)),
        tyres=ask.ratings("tyre", _TYRE, len(axles)),
    )


def _trailer(ask: Prompter) -> VehicleAnswers:
    name = ask.text("trailer_name", "What is the trailer called, if it has a name?", default="")
    places = ask.lengths("trailer_axle")
    if not places:
        count = ask.count("", "How many axles has it?", default=2, lowest=1, highest=MOST_AXLES)
        places = _places(ask, count, start=1, origin="coupling point", first=("180 in", "4600 mm"))
    axles = _rising(places, "trailer_axle")
    several = len(axles) > 1
    track = ask.length(
        "trailer_track", "Distance between its wheel centres, side to side", default=("76 in", "1900 mm")
    )
    return VehicleAnswers(
        name=name,
        axles=axles,
        tracks=(track,),
        ratings=ask.ratings("trailer_rating", "Rating (GAWR) of axle", len(axles)),
        gross=ask.rating("trailer_gvwr", "Its gross rating (GVWR)"),
        payload=ask.rating("trailer_payload", "Its payload, as on the label"),
        dual=_dual(ask, "trailer_dual", len(axles)),
        tyres=ask.ratings("trailer_tyre", _TYRE, len(axles)),
        equalised=several and ask.yes("equalised", "Do its axles share load (equalised)?", default=True),
    )


def _dual(ask: Prompter, flag: str, count: int) -> tuple[int, ...]:
    return ask.numbers(flag, "Which axles have dual wheels, as in 2, empty if none", highest=count)


def _places(ask: Prompter, count: int, *, start: int, origin: str, first: tuple[str, str]) -> tuple[float, ...]:
    """The places of ``count`` axles, asked one by one; the default of each further one lies a tandem's spacing on."""
    places: list[float] = []
    default = first
    for number in range(start, start + count):
        if places:
            further = f"{round(places[-1] * _STEP, 2):.10g} {ask.length_unit}"
            default = (further, further)
        places.append(ask.length("", f"From the {origin} back to axle {number}", default=default))
    return tuple(places)


def _rising(places: tuple[float, ...], flag: str) -> tuple[float, ...]:
    if any(behind <= before for before, behind in pairwise(places)):
        raise click.BadParameter("axles are given front to back, each behind the one before", param_hint=hint(flag))
    if len(places) > MOST_AXLES:
        raise click.BadParameter(f"{len(places)} axles; there are at most {MOST_AXLES}", param_hint=hint(flag))
    return places


def _coupling(ask: Prompter, towing: VehicleAnswers, units: UnitSystem) -> CouplingAnswers:
    kinds = tuple(CouplingType)
    kind = CouplingType(ask.choice("coupling", "What couples them?", default="ball", among=kinds))
    behind = kind in (CouplingType.BALL, CouplingType.PINTLE)
    place = towing.axles[-1] + (_OVERHANG[units.length] if behind else 0.0)
    default = f"{round(place, 2):.10g} {units.length}"
    return CouplingAnswers(
        type=kind,
        x=ask.length("coupling_at", "From the front axle back to the coupling", default=(default, default)),
        vertical=ask.rating("coupling_rating", "Vertical rating of the coupling"),
    )


def _pads(ask: Prompter) -> PadAnswers:
    return PadAnswers(
        count=ask.count("pads", "How many wheel pads are there?", default=4, lowest=1, highest=40),
        capacity=ask.mass("pad_capacity", "What can one pad carry?", default=("15000 lb", "7000 kg")),
        division=ask.mass("pad_division", "In what steps does it show its load?", default=("20 lb", "10 kg")),
        height=ask.length("pad_height", "How high is its top above the ground?", default=("2.5 in", "60 mm")),
    )


def _platform(ask: Prompter, flags: dict[str, Any]) -> PlatformAnswers | None:
    of_it = _given(flags, "platform_")
    _refuse("platform", flags["platform"], of_it)
    if not of_it and not ask.yes("platform", "Is there a platform too, for the bed or the coupling?", default=False):
        return None
    return PlatformAnswers(
        capacity=ask.mass("platform_capacity", "How much can the platform carry?", default=("3000 lb", "1500 kg")),
        division=ask.mass("platform_division", "In what steps does it show its load?", default=("2 lb", "1 kg")),
        mass=ask.rating("platform_mass", "Mass of the platform itself"),
    )
