"""What a log of growing load teaches, asked by page or program, worked out where it holds nobody up.

A short log is read and fitted in a thread. A long one goes to a process of its own, for reading it would stop every
thread meanwhile; this file is also what that process runs.
"""

from __future__ import annotations

import asyncio
import csv
import datetime
import os
import pickle
import subprocess
import sys
from collections import OrderedDict
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from steelyard.dayfile import DayFileError, read_log, read_vehicle, size_complaint, write_vehicle
from steelyard.model import Cargo, PlaceError, Role, WeighDay, parse_place
from steelyard.store import Kept
from steelyard.units import Dimension, Quantity, pair_of
from steelyard.web.api import questions
from steelyard.web.api.questions import fault
from steelyard.web.http.problem import Problem
from steelyard.web.station import memory

if TYPE_CHECKING:
    from steelyard.questions.sweep import SweepAnswer

_LONG = 200_000  # bytes
_PATIENCE = 120.0  # s
_MOST = 8  # answers held ready
_HEIGHT_DIVISION = 0.001  # m, as with the command


@dataclass(frozen=True)
class Question:
    """A log and what is said of it.

    Attributes
    ----------
    name: of the log, in messages. pads: by place, what stands there; else as the day's drafts say.
    on: the vehicle that is loaded. at: a coupling's name or two lengths, as ``"222 in, 0 in"``; empty: nobody says.
    """

    state: str
    text: str
    name: str
    pads: Mapping[str, str] = field(default_factory=dict[str, str])
    on: str = ""
    at: str = ""
    height_division: str = ""


def answer(day: WeighDay, question: Question) -> SweepAnswer:
    """What the log teaches.

    Raises
    ------
    Problem: it teaches nothing, or what is said of it cannot be. DayFileError: the log has a fault.
    """
    from steelyard.learning import SweepError
    from steelyard.loading import ScenarioError
    from steelyard.questions.sweep import learn

    if question.state not in day.states:
        raise fault("state", question.state, f"is no state of the day; there are {', '.join(day.states)}")
    state = day.states[question.state]
    on = loaded(day, question.state, question.on)
    step = _HEIGHT_DIVISION
    if question.height_division:
        read = questions.quantity(day, question.height_division, Dimension.LENGTH, "height_division")
        if (complaint := size_complaint(read, Dimension.LENGTH, day.units)) is not None:
            raise fault("height_division", question.height_division, complaint)
        step = read.value
        if step <= 0.0:
            raise fault("height_division", question.height_division, "is not above zero")
    try:
        load = _load(day, question.state, on, question.at) if question.at else None
        pads = _under(day, question)
        log = read_log(question.text.encode(), question.name, day, state, pads)
        return learn(day, question.state, log, vehicle=on, load=load, height_division=step)
    except SweepError as error:
        raise Problem(422, "teaches_nothing", f"{question.name}: {error}") from error
    except ScenarioError as error:
        raise Problem(422, "cannot_be", str(error)) from error


def loaded(day: WeighDay, state: str, wanted: str) -> str:
    """The vehicle that is loaded: as said, else the towing one of the state.

    Raises
    ------
    Problem: it is not in the state.
    """
    here = day.states[state].vehicles
    if not wanted:
        return next((name for name in here if day.vehicles[name].role is Role.TOWING), here[0])
    if wanted not in here:
        raise fault("on", wanted, f"is not in that state; there are {', '.join(here)}")
    return wanted


def _under(day: WeighDay, question: Question) -> dict[str, str]:
    """The pads that the log has a column for, each under the name that the reader knows it by."""
    head = next((line for line in question.text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    columns = {cell.strip() for row in csv.reader([head], skipinitialspace=True) for cell in row}
    named = {_canonical(day, place): pad for place, pad in question.pads.items()}
    return {place: pad for place, pad in named.items() if place in columns}


def _canonical(day: WeighDay, place: str) -> str:
    try:
        return parse_place(place, day.vehicles).text
    except PlaceError:
        return place


def _load(day: WeighDay, state: str, vehicle: str, text: str) -> Any:
    from steelyard.learning import LoadPlace
    from steelyard.loading import Scenario, refuse_off_vehicle

    couplings = day.vehicles[vehicle].couplings
    if text.strip() in couplings:
        return LoadPlace(vehicle, couplings[text.strip()].x, Quantity(0.0), text.strip())
    parts = pair_of(text)
    if parts is None:
        known = f"a coupling of {vehicle} ({', '.join(couplings)}), or " if couplings else ""
        raise fault("at", text, f'is no place; write {known}two lengths, rearward and to the left: "222 in, 0 in"')
    x, y = (questions.quantity(day, part.strip(), Dimension.LENGTH, "at") for part in parts)
    cargo = Cargo("the load", vehicle, mass=Quantity(1.0), x=x, y=y)
    refuse_off_vehicle(day, Scenario(state, add=(cargo,)))
    return LoadPlace(vehicle, x, y)


def in_yard(answered: SweepAnswer, kept: Kept | None, today: datetime.date) -> tuple[str, dict[str, Any]]:
    """The vehicle as the yard should have it, on top of its last version there: its block and what was learned.

    Raises
    ------
    Problem: the yard has another vehicle of that name. DayFileError: what is kept there cannot be read.
    """
    import tomllib

    from steelyard.questions.sweep import lesson, taught

    name, units = answered.vehicle, answered.day.units
    own = answered.day.vehicles[name]
    vehicle, before = own, dict[str, Any]()
    if kept is not None:
        vehicle = read_vehicle(name, tomllib.loads(kept.text)["vehicles"][name], units)
        before = dict(kept.learned)
    if len(vehicle.axles) != len(own.axles):
        message = f"{name} has {len(vehicle.axles)} axles in the yard; it is another vehicle, rename this one"
        raise Problem(409, "another_vehicle", message)
    sweeps = {**before.get("sweeps", {}), answered.state: {**lesson(answered), "kept": today.isoformat()}}
    return write_vehicle(taught(answered, vehicle), units), {**before, "sweeps": sweeps}


class Sweeper:
    """Whoever fits logs. Belongs to one event loop."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(2, thread_name_prefix="sweep")
        self._known: OrderedDict[tuple[Any, ...], SweepAnswer] = OrderedDict()

    async def ask(self, day: WeighDay, question: Question, *key: Any) -> SweepAnswer:
        """What a log teaches; ``key``: of the day as it stands and of a kept log, whose answer is held ready.

        Raises
        ------
        Problem, DayFileError: as ``answer``.
        """
        place = (*key, question.state, question.on, question.at, question.height_division)
        if key and place in self._known:
            return self._known[place]
        job = _apart if len(question.text) > _LONG else answer
        found = await asyncio.get_running_loop().run_in_executor(self._pool, job, day, question)
        if key:
            self._known[place] = found
            while len(self._known) > _MOST:
                self._known.popitem(last=False)
        return found

    def close(self) -> None:
        """Let go of the threads; what runs is left to end."""
        self._pool.shutdown(wait=False, cancel_futures=True)


def _apart(day: WeighDay, question: Question) -> SweepAnswer:
    """The answer of a process of its own."""
    environment = {"OPENBLAS_NUM_THREADS": "1"} | os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    asked = pickle.dumps((day, question), pickle.HIGHEST_PROTOCOL)
    command = [sys.executable, "-P", str(Path(__file__))]
    try:
        done = _run(command, asked, environment)
    except (subprocess.SubprocessError, OSError):
        message = "the log could not be worked out: what does it ended or took too long; a shorter log may do"
        raise Problem(503, "sweep_failed", message, headers={"retry-after": "5"}) from None
    told: Any = pickle.loads(done)  # noqa: S301 - from our own process
    if isinstance(told, dict):
        raise Problem(**told)  # pyright: ignore[reportUnknownArgumentType]
    if isinstance(told, DayFileError):
        raise told
    return told


def _run(command: list[str], asked: bytes, environment: dict[str, str]) -> bytes:
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, env=environment) as process:  # noqa: S603 - our own file
        memory.bound(process.pid)
        try:
            answered, _ = process.communicate(asked, timeout=_PATIENCE)
        except BaseException:
            process.kill()
            raise
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command)
    return answered


def main() -> None:
    """Answer the one question on standard input."""
    if hasattr(os, "nice"):
        os.nice(5)
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # nothing else may write into the answer
    day, question = pickle.load(sys.stdin.buffer)  # noqa: S301 - from the station
    told: Any
    try:
        told = answer(day, question)
    except DayFileError as error:
        told = error
    except Problem as problem:
        names = ("status", "code", "message", "faults", "headers")
        told = {name: getattr(problem, name) for name in names}
    with out:
        pickle.dump(told, out, pickle.HIGHEST_PROTOCOL)


if __name__ == "__main__":
    # what comes is pickled under the name by which the station knows this file
    from steelyard.web.station.sweeping import main as run

    run()
