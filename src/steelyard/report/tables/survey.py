"""Contents of a sound file, and the findings that its drafts will determine, before any arithmetic."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.dayfile import Beside, PhotographFile
from steelyard.model import COMBINATION, COUPLING, FindingId, InstrumentKind, WeighDay
from steelyard.questions.survey import Survey
from steelyard.report.tables.gaps import drawn_together, gap_lines
from steelyard.report.tables.rig import instrument_line, occasion, vehicle_line
from steelyard.report.words.grid import listed, rule, wrapped


def survey_text(day: WeighDay, survey: Survey, *, file: str, photographs: Sequence[PhotographFile] = ()) -> str:
    """The whole answer of ``check`` for a sound file, ending in a line end.

    ``photographs`` are those that the day names, as they were looked at beside the file.
    """
    lines = [f"{file}: sound", day.title, *occasion(day)]
    lines = [line for line in lines if line]
    lines += ["", rule("what the file holds"), "", *_counts(day)]
    for vehicle in day.vehicles.values():
        lines += wrapped(vehicle_line(vehicle, day.units), rest="  ")
    lines += [*wrapped(instrument_line(day), rest="  "), *_references(day, survey)]
    lines += ["", rule("what the drafts will determine"), "", *_determined(day, survey)]
    if survey.undetermined:
        lines += [
            "",
            rule("what they will not"),
            *gap_lines(survey.undetermined, told=survey.determined, why=survey.reasons),
        ]
    lines += ["", rule("what checks the readings"), "", *_redundancy(day, survey)]
    if photographs:
        lines += ["", rule("what the photographs show"), "", *_photographs(photographs)]
    return "\n".join(lines) + "\n"


def _counts(day: WeighDay) -> list[str]:
    readings = sum(len(draft.readings) for draft in day.drafts)
    measured = day.measured_states()
    predicted = sum(state not in measured for state in day.states)
    pads = sum(instrument.kind is InstrumentKind.PAD for instrument in day.instruments.values())
    parts = [
        counted(len(day.vehicles), "vehicle"),
        counted(sum(len(vehicle.axles) for vehicle in day.vehicles.values()), "axle"),
        counted(pads, "pad"),
        counted(len(day.instruments) - pads, "platform"),
        counted(len(day.cargo), "thing", "things") + " of cargo",
        counted(len(day.states), "state") + (f" ({predicted} without a draft)" if predicted else ""),
        counted(len(day.drafts), "draft"),
        counted(readings, "reading"),
    ]
    kept = [part for part in parts if not part.startswith("0 ")]
    kept += [f"{counted(len(day.corrections), 'correction')}"] if day.corrections else []
    return wrapped(listed(kept) + ".", rest="  ") if kept else ["Nothing yet."]


def _photographs(photographs: Sequence[PhotographFile]) -> list[str]:
    """How many are those that were kept; then each that cannot be shown, with the reason."""
    same = sum(item.kept is Beside.SAME for item in photographs)
    named = f"{counted(len(photographs), 'photograph')} named; {same} beside the file, as kept, by the digest."
    lines = wrapped(named, rest="  ")
    for item in photographs:
        if item.kept is not Beside.SAME:
            record = item.record
            where = f"draft {record.draft}" + ("" if record.place is None else f", {record.place}")
            name = record.short if record.file is None else record.file
            note = "note: " if item.kept in (Beside.MISSING, Beside.UNNAMED) else ""
            lines += wrapped(f"{note}{where}: {name} {item.wrong}.", rest="  ")
    return lines


def counted(number: int, one: str, many: str | None = None) -> str:
    """``1 draft``, ``2 drafts``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def _references(day: WeighDay, survey: Survey) -> list[str]:
    """The state in which each vehicle's own loads are unknowns; every other state is a change from it."""
    texts = [f"{vehicle} in {state}" for vehicle, state in survey.references.items()]
    lines = wrapped(f"Changes are reckoned from {listed(texts)}.", rest="  ") if texts else []
    raised = [str(draft.number) for draft in day.drafts if draft.raised]
    if raised:
        what = f"Draft {raised[0]}, raised, tells" if len(raised) == 1 else f"Drafts {listed(raised)}, raised, tell"
        lines += wrapped(f"{what} the height of the centre of gravity and nothing else.", rest="  ")
    named = {vehicle for state in day.states.values() for vehicle in state.vehicles}
    for vehicle in day.vehicles:
        if vehicle not in named:
            lines += wrapped(f"No state names {vehicle}, so nothing is said of it.", rest="  ")
    return lines


def _determined(day: WeighDay, survey: Survey) -> list[str]:
    told = [FindingId.parse(item) for item in survey.determined]
    missing = {(where.states, where.owner) for where in (FindingId.parse(item) for item, _ in survey.undetermined)}
    lines: list[str] = []
    measured = day.measured_states()
    for state in day.states:
        members = [item for item in told if item.states == (state,)]
        if state in survey.tipped:
            lines += wrapped(f"{state}: nothing, for what it stands on does not hold it up", rest="  ")
            continue
        note = "" if state in measured else " (predicted)"
        owners = dict.fromkeys(item.owner for item in members)
        texts = [_owner(owner, members, whole=((state,), owner) not in missing) for owner in owners]
        lines += wrapped(f"{state}{note}: {'; '.join(texts) or 'nothing'}", rest="  ")
    cargo = [item for item in told if item.of_cargo]
    if cargo:
        lines += wrapped("; ".join(drawn_together(cargo)), rest="  ")
    changes = sum(item.change for item in told)
    if changes:
        lines.append(f"{counted(changes, 'change')} between states")
    return lines or ["Nothing: the file has no states."]


def _owner(owner: str, members: Sequence[FindingId], *, whole: bool) -> str:
    own = [item for item in members if item.owner == owner]
    if whole and owner not in {COMBINATION, COUPLING}:
        return f"all of {owner}"
    return drawn_together(own)[0]


def _redundancy(day: WeighDay, survey: Survey) -> list[str]:
    if not day.measured_states():
        return ["Nothing: there are no readings yet."]
    if survey.redundancy > 0:
        verb = "checks" if survey.redundancy == 1 else "check"
        return wrapped(f"{counted(survey.redundancy, 'reading')} beyond the number just needed {verb} the others.")
    return wrapped(
        "Nothing: every reading is just needed, so a slip in one would pass unseen. One repeated draft, taken anew, "
        "would check them."
    )
