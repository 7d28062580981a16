"""Every command asked of one day in this process, and what is wrong with the answers."""

from __future__ import annotations

import json
import random
import re
import tempfile
import traceback
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from click.testing import CliRunner

from steelyard.cli import cli
from steelyard.dayfile import DayFileError, parse_day
from steelyard.findings import weigh
from steelyard.model import Role, State, WeighDay
from steelyard.questions.findings import findings_data, findings_schema
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.overlay.captions import caption_lines
from steelyard.report.print.ticket import ticket_content
from steelyard.report.tables.csv_rows import csv_header, csv_rows
from steelyard.report.tables.findings import findings_text
from steelyard.report.tables.moves import pairs
from steelyard.units import Dimension
from tests.fuzz.logs import sweep_question
from tests.schemas import validator_of

NO_NUMBER = re.compile(r"\b(nan|NaN|inf|Infinity)\b|\b\d[\d.]*[eE][+-]?\d+\b|\bNone\b|np\.float64|array\(")
NOT_FINITE = re.compile(r"\b(nan|NaN|inf|Infinity|None)\b")
REFUSED = 2


@dataclass(frozen=True)
class Answer:
    """What a command said."""

    command: tuple[str, ...]
    status: int
    out: str
    err: str


@dataclass(frozen=True)
class Fault:
    """What is wrong with an answer."""

    command: str
    what: str


def ask(*command: str) -> Answer:
    """Run a command; a warning of a library is a fault of the program."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = CliRunner().invoke(cli, list(command), prog_name="steelyard", env={"STEELYARD_TRACEBACK": "1"})
    return Answer(command, result.exit_code, result.stdout, result.stderr)


def faults_of(text: str, dice: random.Random, *, share: float = 1.0, plans: float = 0.0) -> list[Fault]:
    """Ask the day of ``text`` everything; ``share`` of the questions beside findings, ``plans`` of the plans.

    The day is solved once, and what ``findings``, ``draw`` and ``ticket`` would say of it is made by the functions
    that they call; in ``share`` of the days the commands themselves are run as well.
    """
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "day.toml"
        file.write_text(text, encoding="utf-8")
        name = str(file)
        found = list(wrong(ask("check", name)))
        commands: list[tuple[str, ...]] = []
        try:
            day = parse_day(text, name)
        except DayFileError:
            commands += [("findings", name, "--json"), ("findings", name)]
        else:
            found += _said(day, name)
            whole = [("findings", name, *form) for form in ((), ("--json",), ("--csv",))]
            whole.append(("draw", name, "--format", "svg", "-o", folder))
            asked = [*whole, *questions(day, name, folder, dice)]
            commands += [one for one in asked if dice.random() < share]
            if plans and dice.random() < plans:
                commands.append(_plan(day, name, folder, dice))
        for command in commands:
            found += wrong(ask(*command))
        found += _pictures(Path(folder))
        found += _planned(Path(folder))
    return found


def _said(day: WeighDay, file: str) -> Iterator[Fault]:
    """What is wrong with the findings in every form, the drawings and the ticket's content."""
    step = "weigh"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            views = [(name, None) for name in day.states] + [(after, before) for before, after in pairs(day)]
            found = weigh(day, [(against, state) for state, against in views if against is not None])
            step = "findings"
            yield from wrong(Answer(("findings", file), 0, findings_text(found), ""))
            step = "findings --csv"
            rows = csv_header() + "".join(csv_rows(found, file=file))
            yield from wrong(Answer(("findings", file, "--csv"), 0, rows, ""))
            step = "findings --json"
            data = findings_data(found, file=file)
            yield from wrong(Answer(("findings", file, "--json"), 0, json.dumps(data), ""))
            yield from unsound(data)
            step = "ticket"
            for told in _texts(ticket_content(found, next(iter(day.states), None))):
                if (seen := NO_NUMBER.search(told)) is not None:
                    yield Fault("ticket", f"says {around(told, seen)!r}")
            step = "overlay"
            captions = "\n".join(line for state in day.states for line in caption_lines(found, state, "now"))
            yield from wrong(Answer(("overlay", file), 0, captions, ""))
            for state, against in views:
                step = f"draw {state} {against or ''}"
                yield from _drawn(step, above_svg(found, state, against=against))
    except Exception:  # noqa: BLE001 - whatever it is, it is a fault
        yield Fault(step, traceback.format_exc()[-1500:])


def wrong(answer: Answer) -> Iterator[Fault]:
    """What anybody may see at once in an answer."""
    shown = " ".join(answer.command)
    if answer.status not in (0, REFUSED):
        yield Fault(shown, f"status {answer.status}: {answer.err[-1500:]}")
        return
    if "--json" in answer.command and answer.out:
        yield from _data(answer, shown)
    # a spreadsheet reads an exponent; a person shall not have to
    elif (seen := (NOT_FINITE if "--csv" in answer.command else NO_NUMBER).search(answer.out)) is not None:
        yield Fault(shown, f"says {around(answer.out, seen)!r}")
    seen = NO_NUMBER.search(answer.err)
    if seen is not None:
        yield Fault(shown, f"complains {around(answer.err, seen)!r}")
    told = answer.err.strip() or ('"errors"' in answer.out and answer.out)
    if answer.status == REFUSED and not told:
        yield Fault(shown, "refuses without a word")


def around(text: str, seen: re.Match[str]) -> str:
    """A little of a text around what was found."""
    return text[max(0, seen.start() - 60) : seen.end() + 40]


def _data(answer: Answer, shown: str) -> Iterator[Fault]:
    def strange(constant: str) -> Any:
        raise ValueError(constant)

    try:
        data = json.loads(answer.out, parse_constant=strange)
    except ValueError as error:
        yield Fault(shown, f"no JSON: {error}: {answer.out[:200]}")
        return
    if answer.command[0] in ("findings", "whatif"):
        error = next(_shape().iter_errors(data), None)
        if error is not None:
            yield Fault(shown, f"against the schema: {error.json_path}: {error.message[:300]}")
    for told in _texts(data):
        seen = NO_NUMBER.search(told)
        if seen is not None:
            yield Fault(shown, f"says {around(told, seen)!r}")


def _texts(data: Any) -> Iterator[str]:
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        for item in data.values():
            yield from _texts(item)
    elif isinstance(data, list):
        for item in data:
            yield from _texts(item)


@cache
def _shape() -> Any:
    return validator_of(findings_schema())


def unsound(data: dict[str, Any]) -> Iterator[Fault]:
    """What cannot be in findings whatever the readings: ends out of order, a doubt below nothing, a strange chance."""
    for one in data["findings"]:
        if not one["determined"]:
            continue
        low, value, high = one["low"], one["value"], one["high"]
        room = 1e-9 * max(1.0, abs(low or 0.0), abs(high or 0.0))
        if (low is not None and low > value + room) or (high is not None and high < value - room) or one["u"] < 0:
            yield Fault("findings", f"{one['id']}: {low} to {high} around {value}, u {one['u']}")
    for one in data["verdicts"]:
        chance = one["probability"]
        if chance is not None and not 0.0 <= chance <= 1.0:
            yield Fault("findings", f"{one['id']}: a probability of {chance}")


def _drawn(what: str, svg: str) -> Iterator[Fault]:
    """What is wrong with a drawing."""
    for node in ElementTree.fromstring(svg).iter():
        for text in (node.text or "", *node.attrib.values()):
            seen = NOT_FINITE.search(text)
            if seen is not None:
                yield Fault(what, f"says {around(text, seen)!r}")
                return


def _pictures(folder: Path) -> Iterator[Fault]:
    for path in folder.glob("*.svg"):
        yield from _drawn(f"draw {path.name}", path.read_text(encoding="utf-8"))


def _planned(folder: Path) -> Iterator[Fault]:
    """A file that a plan wrote is one that the program reads, but for the readings that wait."""
    path = folder / "planned.toml"
    if path.exists():
        answer = ask("check", str(path))
        lines = [line for line in answer.err.splitlines() if "still to be read" not in line]
        if answer.status not in (0, REFUSED) or any("planned.toml" in line for line in lines):
            yield Fault("check of the planned day", "\n".join(lines))


def questions(day: WeighDay, file: str, folder: str, dice: random.Random) -> Iterator[tuple[str, ...]]:
    """One way of asking each of the other commands."""
    names = list(day.states)
    as_data = dice.choice([(), ("--json",)])
    yield ("site", file, *as_data)
    for state in dice.sample(names, min(2, len(names))):
        yield ("whatif", file, "--from", state, *_wishes(day, day.states[state], dice), *dice.choice([(), ("--json",)]))
    state = dice.choice(names)
    on = dice.choice(day.states[state].vehicles)
    item = dice.choice([(), ("--item", "300 lb"), ("--item", "90000 kg")])
    stem = str(Path(folder) / "map")
    yield ("loadmap", file, "--state", state, "--on", on, "--grid", "9x5", "--width", "200", "-o", stem, *item)
    yield ("rebalance", file, "--state", dice.choice(names), *_freedom(day, dice), *as_data)
    yield ("ledger", file, "--state", dice.choice(names), *_since(names, dice), *as_data)
    yield ("distribute", file, *dice.choice([(), ("--state", dice.choice(names))]), *_part(dice), *as_data)
    alone = [name for name in names if any(day.vehicles[v].role is Role.TOWING for v in day.states[name].vehicles)]
    if alone:
        yield ("trailer", file, "--from", dice.choice(alone), *dice.choice([(), ("--at", "hook")]), *as_data)
    yield sweep_question(day, file, folder, dice)
    if len(names) > 1:
        one, other = dice.sample(names, 2)
        yield ("draw", file, "--state", one, "--against", other, "-o", str(Path(folder) / "against.svg"))


def _since(names: list[str], dice: random.Random) -> tuple[str, ...]:
    return dice.choice([(), ("--since", dice.choice(names))])


def _part(dice: random.Random) -> tuple[str, ...]:
    return dice.choice([(), ("--restore", "50%"), ("--restore", "100 %"), ("--restore", "0%")])


def _freedom(day: WeighDay, dice: random.Random) -> tuple[str, ...]:
    found: list[str] = []
    for name in day.cargo:
        found += dice.choice([[], [], ["--movable", name], ["--keep", name]])
    if "tr1" in day.vehicles and dice.random() < 0.2:
        found += dice.choice([["--couple", "tr1:0 lb*in..40000 lb*in"], ["--shift", "tr1:-6 in..6 in"]])
    return (*found, *dice.choice([(), ("--no-drop",)]))


def _wishes(day: WeighDay, state: State, dice: random.Random) -> list[str]:
    """One to three changes of a state that mostly make sense."""
    found: list[str] = []
    for _ in range(dice.choice([1, 1, 2, 3])):
        on = dice.choice(state.vehicles)
        mass, x, y = dice.choice([5, 150, 900, 20000]), dice.choice([-1, 0, 2.5, 6, 40]), dice.choice([0, 0.5, -2])
        kinds: list[list[str]] = [["--add", f"{mass} kg on {on} at {x} m, {y} m"]]
        for name in state.cargo:
            kinds += [["--remove", name], ["--move", f"{name} to {x} m, {y} m"]]
            key, value = ("level", "55 %") if day.cargo[name].is_tank else ("mass", f"{mass} kg")
            kinds.append(["--set", f"{name}.{key}={value}"])
        kinds += [["--put-on", name] for name in day.cargo if name not in state.cargo]
        kinds += [["--unhitch", link.trailer] for link in state.links]
        kinds += [["--hitch", f"hook:{name}"] for name in day.vehicles if name.startswith("tr")]
        kinds += [["--distribution", text] for text in ("none", "9000 lb*in", f"same-as:{dice.choice([*day.states])}")]
        found += dice.choice(kinds)
    return found


def _plan(day: WeighDay, file: str, folder: str, dice: random.Random) -> tuple[str, ...]:
    pads = ",".join(list(day.instruments)[:4])
    state = dice.choice([*day.states])
    vehicle = dice.choice(day.states[state].vehicles)
    bound = f"{day.units.show(40.0, Dimension.MASS):.0f} {day.units.mass}"
    want = dice.choice([f"{state}/*/axle/* <= {bound}", f"{state}/{vehicle}/gross", f"{state}/*/wheel/* <= {bound}"])
    extra = dice.choice([(), ("--single",), ("--planks",), ("--blocks", "2"), ("--no-more",)])
    made = str(Path(folder) / "planned.toml")
    return ("plan", file, "--pads", pads, "--want", want, "--seconds", "0.3", "--toml", made, *extra)
