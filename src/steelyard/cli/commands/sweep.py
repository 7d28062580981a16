"""``steelyard sweep``: what a log of growing load teaches of the rig."""

from __future__ import annotations

import difflib
import json
import os
import sys
from dataclasses import replace
from pathlib import Path

import click

from steelyard.cli.options import (
    Count,
    FileName,
    check_states,
    day_argument,
    read,
    say_faults,
    units_option,
    write_file,
)
from steelyard.cli.say import say, say_data, say_error
from steelyard.cli.scenario_text import quantity_of, refuse
from steelyard.dayfile import (
    LARGEST_LOG,
    DayFileError,
    Fault,
    log_bytes,
    read_log,
    read_vehicle,
    size_complaint,
    write_vehicle,
)
from steelyard.learning import LoadPlace, SweepError
from steelyard.loading import Scenario, ScenarioError, refuse_off_vehicle
from steelyard.model import Cargo, Role, State, Vehicle, WeighDay
from steelyard.questions.sweep import SweepAnswer, learn, learned_id, lesson, sweep_to_data, taught
from steelyard.report import Theme, drawable, svg_to_png, sweep_svg, tables
from steelyard.units import Dimension, Quantity, UnitSystem, pair_of

_STDIN = "-"


@click.command()
@day_argument
@click.argument("log", metavar="LOG.csv", type=click.Path(allow_dash=True))
@click.option("--state", metavar="STATE", required=True, help="The state that stood on the pads.")
@click.option("--on", "vehicle", metavar="VEHICLE", help="The vehicle that was loaded, where the state has several.")
@click.option("--at", metavar="PLACE", help='Where the load was put: a coupling\'s name, or as in "222 in, 0 in".')
@click.option("--pad", "pads", multiple=True, metavar="PLACE=NAME", help="What stood there, as in tow/1L=p1; again.")
@click.option("--height-division", metavar="LENGTH", default="1 mm", help="Step in which heights were read.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema sweep' describes.")
@units_option(default=None, help="Show in these units, as in lb,in or kg,mm; otherwise in the file's.")
@click.option("--plot", metavar="FILE", type=FileName(), help="Draw it too, as .svg or .png.")
@click.option("--pair", metavar="PLACE,PLACE", help="Draw the first against the second; otherwise two axles.")
@click.option(
    "--theme", type=click.Choice(["light", "dark", "transparent"]), default="light", help="The ground it is for."
)
@click.option("--width", type=Count(200, 8000), default=1600, help="Of the PNG, in pixels.")
@click.option(
    "--learned", metavar="FILE.toml", type=FileName(), help="Write the vehicle's block with what was learned."
)
@click.option("--yard", metavar="PATH|URL", help="Keep that block in the yard of this station's store.")
@click.pass_context
def sweep(
    ctx: click.Context,
    file: str,
    log: str,
    state: str,
    vehicle: str | None,
    at: str | None,
    pads: tuple[str, ...],
    height_division: str,
    as_json: bool,
    units: UnitSystem | None,
    plot: str | None,
    pair: str | None,
    theme: Theme,
    width: int,
    learned: str | None,
    yard: str | None,
) -> None:
    """What does a log of growing load teach of the rig: who gains, who loses, where the load stands?

    LOG.csv has a row of names, then one row for each sample: t, and a column for each place as in a draft's readings;
    "tow/1L height" is the height of the body there. The rig stays on its pads while load goes on, step by step or
    slowly. Without --json the result is for a person. LOG.csv may be -, for standard input.
    """
    try:
        day = read(file)
        check_states(day, file, [state])
        answer = _answer(day, log, state, vehicle, at, pads, height_division, units)
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
    except SweepError as error:
        say_error(f"{_named(log)}: {error}")
        ctx.exit(2)
    except ScenarioError as error:
        say_error(f"{file}: {error}")
        ctx.exit(2)
    _spare_the_log(log, learned)
    picture = None if plot is None else _picture(answer, plot, pair, theme, width)
    if as_json:
        say_data(json.dumps(sweep_to_data(answer, file=file), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say(tables.sweep_text(answer), end="")
    told: list[str] = []
    if plot is not None and picture is not None:
        write_file(ctx, Path(plot), picture, day_file=file)
        told.append(plot)
    if learned is not None:
        write_file(ctx, Path(learned), _block(answer, day.vehicles[answer.vehicle]).encode(), day_file=file)
        told.append(learned)
    if yard is not None:
        told.append(_keep(ctx, answer, yard))
    if told and not as_json:
        say("\n".join(told))


def _spare_the_log(log: str, learned: str | None) -> None:
    """See that what is written is not the log that was read."""
    if learned is not None and log != _STDIN and Path(learned).exists() and Path(learned).samefile(log):
        raise click.BadParameter(f"'{learned}' is the log itself; give another name", param_hint="'--learned'")


def _named(log: str) -> str:
    return "standard input" if log == _STDIN else log


def _answer(
    day: WeighDay,
    log: str,
    state: str,
    vehicle: str | None,
    at: str | None,
    pads: tuple[str, ...],
    height_division: str,
    units: UnitSystem | None,
) -> SweepAnswer:
    """The answer, shown in ``units``; the log and the options are in those of the file."""
    here = day.states[state]
    loaded = _vehicle(here, day, vehicle)
    load = None if at is None else _load(day, here, loaded, at)
    under = dict(_pad(text) for text in pads)
    step = _step(day, height_division)
    read_in = read_log(_bytes(log), _named(log), day, here, under)
    shown = day if units is None else replace(day, units=units)
    return learn(shown, state, read_in, vehicle=loaded, load=load, height_division=step)


def _bytes(log: str) -> bytes:
    """The log, never more than the limit.

    Raises
    ------
    DayFileError: it cannot be opened.
    """
    if log != _STDIN:
        return log_bytes(log)
    if sys.stdin is None:  # pyright: ignore[reportUnnecessaryComparison] - where the shell closed it
        raise DayFileError(_named(log), (Fault(None, "", "", "is closed"),))
    return sys.stdin.buffer.read(LARGEST_LOG + 1)


def _vehicle(state: State, day: WeighDay, wanted: str | None) -> str:
    if wanted is None:
        towing = [name for name in state.vehicles if day.vehicles[name].role is Role.TOWING]
        return (towing or list(state.vehicles))[0]
    if wanted not in state.vehicles:
        near = difflib.get_close_matches(wanted, state.vehicles, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"there are {', '.join(state.vehicles)}"
        raise click.BadParameter(f"no vehicle '{wanted}' in state '{state.id}'; {hint}", param_hint="'--on'")
    return wanted


def _load(day: WeighDay, state: State, vehicle: str, text: str) -> LoadPlace:
    """Where the load was put: on a coupling by its name, or at a place.

    Raises
    ------
    ScenarioError: it is off the vehicle.
    """
    couplings = day.vehicles[vehicle].couplings
    if text.strip() in couplings:
        name = text.strip()
        return LoadPlace(vehicle, couplings[name].x, Quantity(0.0), name)
    parts = pair_of(text)
    if parts is None:
        known = f"a coupling of {vehicle} ({', '.join(couplings)}), or " if couplings else ""
        message = f"'{text}' is no place; write {known}two lengths, rearward and to the left: \"222 in, 0 in\""
        raise click.BadParameter(message, param_hint="'--at'")
    try:
        x, y = (quantity_of(day, part, Dimension.LENGTH) for part in parts)
    except click.UsageError as error:
        raise click.BadParameter(error.message, param_hint="'--at'") from None
    cargo = Cargo("the load", vehicle, mass=Quantity(1.0), x=x, y=y)
    refuse_off_vehicle(day, Scenario(state.id, add=(cargo,)))
    return LoadPlace(vehicle, x, y)


def _pad(text: str) -> tuple[str, str]:
    place, sign, name = text.rpartition("=")
    if not sign or not place.strip() or not name.strip():
        raise click.BadParameter(f"'{text}' is none; write a place and an instrument: tow/1L=p1", param_hint="'--pad'")
    return place.strip(), name.strip()


def _step(day: WeighDay, text: str) -> float:
    try:
        read = quantity_of(day, text, Dimension.LENGTH)
        refuse(text, size_complaint(read, Dimension.LENGTH, day.units))
    except click.UsageError as error:
        raise click.BadParameter(error.message, param_hint="'--height-division'") from None
    if read.value <= 0.0:
        raise click.BadParameter(f"'{text}' is not above zero", param_hint="'--height-division'")
    return read.value


def _picture(answer: SweepAnswer, plot: str, pair: str | None, theme: Theme, width: int) -> bytes:
    end = Path(plot).suffix.lower()
    if end not in (".svg", ".png"):
        raise click.BadParameter(f"'{plot}' ends in neither .svg nor .png", param_hint="'--plot'")
    names = drawable(answer)
    if not names:
        raise click.BadParameter("no slope is determined, so there is nothing to draw", param_hint="'--plot'")
    name = names[0]
    if pair is not None:
        above, _, below = (part.strip() for part in pair.partition(","))
        name = learned_id(answer.state, "slope", above, below)
        if name not in names:
            pairs = [f"{item.of},{item.per}" for item in map(answer.get, names) if item is not None]
            message = f"'{pair}' is no determined slope; there are {' '.join(pairs)}"
            raise click.BadParameter(message, param_hint="'--pair'")
    svg = sweep_svg(answer, name, theme=theme)
    return svg.encode() if end == ".svg" else svg_to_png(svg, width)


def _block(answer: SweepAnswer, vehicle: Vehicle) -> str:
    """The vehicle's block with what was learned, and everything learned as comments above it."""
    return tables.learned_comment(answer, vehicle) + write_vehicle(taught(answer, vehicle), answer.day.units)


def _keep(ctx: click.Context, answer: SweepAnswer, yard: str) -> str:
    """Keep the vehicle in the yard, on top of its last version there; what went wrong ends the program."""
    import tomllib

    from steelyard.store import Shelf, StoreError, open_store

    name, units = answer.vehicle, answer.day.units
    try:
        with open_store(os.path.expanduser(yard)) as store:  # noqa: PTH111 - may be a URL
            kept = store.kept(Shelf.VEHICLE, name)
            vehicle, before = answer.day.vehicles[name], {}
            if kept is not None:
                vehicle = read_vehicle(name, tomllib.loads(kept.text)["vehicles"][name], units)
                before = dict(kept.learned)
            if len(vehicle.axles) != len(answer.day.vehicles[name].axles):
                say_error(
                    f"{yard}: {name} has {len(vehicle.axles)} axles there; it is another vehicle, rename this one"
                )
                ctx.exit(2)
            sweeps = {**before.get("sweeps", {}), answer.state: lesson(answer)}
            text = write_vehicle(taught(answer, vehicle), units)
            version = store.save(Shelf.VEHICLE, name, text, learned={**before, "sweeps": sweeps}, device="sweep")
            return f"{name} is in the yard of {store.where}, version {version}"
    except StoreError as error:
        say_error(str(error))
        ctx.exit(2)
    except DayFileError as error:
        say_faults(error)
        ctx.exit(2)
