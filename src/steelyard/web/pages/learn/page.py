"""Learn the rig, as a page: what can be recorded where, the logs that are kept, and what one of them teaches."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

from steelyard.findings import STANDING
from steelyard.model import State, WeighDay
from steelyard.questions.sweep import Learned, SweepAnswer, taught
from steelyard.report.tables.sweep import expected_shown, learned_shown
from steelyard.store import SweepRecord
from steelyard.units import Dimension, format_number
from steelyard.web.pages.learn.chart import draw_chart
from steelyard.web.pages.learn.contracts import LearnedGroup, LearnedLine, LearnedResult, LearnPage
from steelyard.web.pages.learn.named import named, state_words
from steelyard.web.pages.shell.contracts import PageLink, To
from steelyard.web.pages.shell.moment import moment_text
from steelyard.web.pages.shell.rig import draw_rig
from steelyard.web.station.recording import last_pads
from steelyard.web.station.simulate import Simulation

CAUTIONS = (
    "Chock the wheels, and set the brakes, before anybody steps on.",
    (
        "Nobody stands on a trailer's tongue or its coupler, nobody between the vehicles, and no hand or foot where "
        "something could pinch when the body sinks. Step onto a platform, a bumper or a bar that is rated for it."
    ),
    (
        "One at a time, with a hand to hold on to. Keep what goes on under what the pads, the coupling and the axles "
        "are rated for."
    ),
)
_KINDS = (
    (("place",), "Where the load stands"),
    (("left_share",), "How it goes to the sides"),
    (("roll_share",), "Who takes the roll couple"),
    (("ride_rate", "roll_rate"), "Springs"),
)


def learn_page(
    day_id: str,
    day: WeighDay,
    logs: Sequence[SweepRecord],
    result: LearnedResult | None,
    *,
    to: To,
    simulation: Simulation | None,
    heard: Collection[str],
    may_weigh: bool,
) -> LearnPage:
    """The page of a day as it stands; ``simulation``: the rig on virtual pads, where it is this day's.

    Parameters
    ----------
    to: makes the links. heard: the channels of the indicators that are connected.
    """
    states = [state for state in day.without_put_away().states.values() if state.vehicles]
    places = {state.id: _places(day, state, simulation) for state in states}
    data = {
        "day": day_id,
        "unit": day.units.mass,
        "mayWeigh": may_weigh,
        "links": {
            "recording": to("get_recording", id=day_id),
            "rows": to("add_row", id=day_id),
            "row": to("take_back", id=day_id, number="NUMBER"),
            "finish": to("finish", id=day_id),
            "logs": to("add_log", id=day_id),
            "teach": to("teach", id=day_id, number="NUMBER"),
            "simulation": to("drive"),
            "yard": to("yard"),
        },
        "pads": list(day.instruments),
        "called": {name: day.state_title(name) for name in day.states},
        "titles": {name: vehicle.title for name, vehicle in day.vehicles.items()},
        "states": places,
    }
    tabs = tuple(PageLink(state.id, day.state_title(state.id)) for state in states)
    here = to("learn", day=day_id)
    cards = tuple(PageLink(f"{here}?log={log.number}", _name(log), _hint(log)) for log in reversed(logs))
    couplings = () if simulation is None else tuple(_couplings(day))
    title = day.title or "Weigh day"
    columns = ", ".join(["t", *(item["place"] for state in states[:1] for item in places[state.id])])
    unheard = _unheard(day, heard)
    return LearnPage(day_id, title, day.units.mass, tabs, cards, result, CAUTIONS, couplings, unheard, columns, data)


def _unheard(day: WeighDay, heard: Collection[str]) -> str:
    """Why no reading of the day comes from an indicator; empty where one does."""
    if not heard:
        return "No indicator is connected to the station. Type each row by hand, or send a log that was kept elsewhere."
    if any(name in day.instruments for name in heard):
        return ""
    return (
        f"What is connected ({', '.join(sorted(heard))}) is no pad of this day. Type each row by hand, or send a log "
        "that was kept elsewhere."
    )


def _couplings(day: WeighDay) -> Iterator[PageLink]:
    for name, vehicle in day.vehicles.items():
        for coupling in vehicle.couplings:
            yield PageLink(f"{name}/{coupling}", f"{vehicle.title}, {coupling}")


def _name(log: SweepRecord) -> str:
    return f"{log.number}. {log.about.get('name') or 'recorded here'}"


def _hint(log: SweepRecord) -> str:
    rows = int(log.about.get("rows", 0))
    return f"{state_words(str(log.about.get('state', '')))}, {rows:,} samples, kept {moment_text(log.received)}"


def _places(day: WeighDay, state: State, simulation: Simulation | None) -> list[dict[str, str]]:
    """Where a pad can stand, and which is to be expected there."""
    known = last_pads(day, state.id)
    none: dict[str, str] = {}
    if not known and simulation is not None:
        known = next((simulation.places(draft) for draft in simulation.drafts if draft.state == state.id), none)
    stations = draw_rig(day, state).stations
    return [{"place": item.place, "name": item.spoken, "pad": known.get(item.place, "")} for item in stations]


# ---- what a log teaches ----


def taught_nothing(day: WeighDay, record: SweepRecord, fault: str, options: Mapping[str, str]) -> LearnedResult:
    """A log that teaches nothing, and why."""
    return LearnedResult(record.number, _name(record), _hint(record), fault, **_choices(day, record, options))


def learned_result(answer: SweepAnswer, record: SweepRecord, options: Mapping[str, str]) -> LearnedResult:
    """The result of a log, in words, a drawing and tables."""
    day, best = answer.day, _best(answer)
    say = named(day)
    chart = None if best is None else draw_chart(answer, best, say)
    vehicle = day.vehicles[answer.vehicle]
    return LearnedResult(
        record.number,
        _name(record),
        _head(answer),
        said=tuple(map(say, _sentences(answer))),
        **({} if chart is None else {"chart": chart.svg, "key": chart.key}),
        groups=tuple(_groups(answer, say)),
        undetermined=tuple(map(say, _open(answer))),
        cautions=(*map(say, answer.cautions), *STANDING),
        vehicle=vehicle.title,
        gains=tuple(_gains(answer)),
        **_choices(day, record, options),
    )


def _choices(day: WeighDay, record: SweepRecord, options: Mapping[str, str]) -> dict[str, Any]:
    said = {key: str(options.get(key, record.about.get(key, ""))) for key in ("on", "at", "height_division")}
    state = day.states.get(str(record.about.get("state", "")))
    names = () if state is None else state.vehicles
    return {
        "query": urlencode({key: value for key, value in said.items() if value}),
        "on": said["on"],
        "at": said["at"],
        "vehicles": tuple(PageLink(name, day.vehicles[name].title) for name in names),
        "couplings": tuple(PageLink(at, at) for name in names for at in day.vehicles[name].couplings),
    }


def _head(answer: SweepAnswer) -> str:
    plateaus = len(answer.sweep.doubt.points.counts)
    text = f"{state_words(answer.state)}: {answer.samples:,} samples, {plateaus:,} plateaus of load."
    load, units = answer.load, answer.day.units
    if load is None:
        return f"{text} Where the load stood is not known, so statics expects nothing."
    x, y = (format_number(units.show(part.value, Dimension.LENGTH), 1) for part in (load.x, load.y))
    where = f"at {x} {units.length} back and {y} {units.length} to the left"
    on = f"{answer.day.vehicles[load.vehicle].title}{f', {load.coupling}' if load.coupling else ''}"
    return f"{text} Statics is for a load on {on}, {where}{'' if answer.given else ', where the wheels say it stood'}."


def _of_wheels(item: Learned) -> bool:
    return item.kind == "slope" and item.of[-1:] in "LR"


def _slopes(answer: SweepAnswer) -> list[Learned]:
    """Slopes of axles, best first: axle against axle, then each against all that was added."""
    found = [item for item in answer.learned if item.kind == "slope" and not _of_wheels(item)]
    return sorted(found, key=lambda item: item.per == "added")


def _best(answer: SweepAnswer) -> Learned | None:
    """The slope that is drawn: of axles if there is one, else the first that is determined."""
    slopes = [item for item in answer.learned if item.kind == "slope" and item.determined]
    return next((item for item in _slopes(answer) if item.determined), slopes[0] if slopes else None)


def _sentences(answer: SweepAnswer) -> Iterator[str]:
    """Slopes as a person would say them."""
    unit = answer.day.units.mass
    for item in _slopes(answer):
        figures = learned_shown(item, answer.day.units)
        if figures is None or item.value is None:
            continue
        one = answer.measures[item.of].label
        other = "put on" if item.per == "added" else f"that go onto {answer.measures[item.per].label}"
        does = f"come off {one}" if item.value < 0.0 else f"go onto {one}"
        amount = figures.value.lstrip("+\N{MINUS SIGN}")
        statics = expected_shown(item, answer.day.units)
        beside = "" if statics is None else f"; statics expects {statics.value}"
        yield (
            f"{amount} ± {figures.half} {unit} {does} for each 100 {unit} {other} "
            f"(95 %: {figures.low} to {figures.high}{beside})."
        )


def _groups(answer: SweepAnswer, say: Callable[[str], str]) -> Iterator[LearnedGroup]:
    units = answer.day.units
    told = [item for item in answer.learned if not (_of_wheels(item) and item.per != "added")]
    slopes = [item for item in told if item.kind == "slope"]
    for below in dict.fromkeys(item.per for item in slopes):
        what = "put on" if below == "added" else f"on {answer.measures[below].label}"
        rows = [_line(answer, item, say(answer.measures[item.of].label)) for item in slopes if item.per == below]
        if any(rows):
            yield LearnedGroup(say(f"{units.mass} for each 100 {units.mass} {what}"), tuple(row for row in rows if row))
    for kinds, title in _KINDS:
        rows = [_line(answer, item, say(item.label), unit=True) for item in answer.learned if item.kind in kinds]
        if any(rows):
            yield LearnedGroup(title, tuple(row for row in rows if row))


def _line(answer: SweepAnswer, item: Learned, name: str, *, unit: bool = False) -> LearnedLine | None:
    figures = learned_shown(item, answer.day.units)
    if figures is None:
        return None
    statics = expected_shown(item, answer.day.units)
    beside = "" if statics is None else f"{statics.value} ± {statics.half}" if statics.half else statics.value
    value = f"{figures.value} ± {figures.half}"
    return LearnedLine(f"{name}, {figures.unit}" if unit else name, value, f"{figures.low} to {figures.high}", beside)


def _open(answer: SweepAnswer) -> Iterator[str]:
    """The quantities that are not determined, and why; the same reason once."""
    reasons: dict[str, list[str]] = {}
    for item in answer.learned:
        if not item.determined and not (_of_wheels(item) and item.per != "added"):
            reasons.setdefault(item.reason, []).append(item.label)
    for reason, labels in reasons.items():
        more = f" and {len(labels) - 1} more" if len(labels) > 1 else ""
        yield f"{labels[0]}{more}: {reason}."
    if not any(item.kind == "ride_rate" for item in answer.learned):
        yield 'spring rates: the log has no heights of the body; a column such as "tow/1L height" tells them.'


def _gains(answer: SweepAnswer) -> Iterator[str]:
    """The keys that the vehicle's own block would gain from the log."""
    before, units = answer.day.vehicles[answer.vehicle], answer.day.units
    after = taught(answer, before)
    for number, (old, new) in enumerate(zip(before.axles, after.axles, strict=True), 1):
        if new.ride_rate != old.ride_rate:
            yield f"spring rate of axle {number}"
        if new.roll_rate != old.roll_rate:
            yield f"roll rate of axle {number}"
    for name, coupling in after.couplings.items():
        if coupling.x != before.couplings[name].x:
            yield f"place of {name}: {format_number(units.show(coupling.x.value, Dimension.LENGTH), 2)} {units.length}"
