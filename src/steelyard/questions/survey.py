"""The findings that a weigh day will determine, before any arithmetic on its readings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Annotated, Any, Literal

from steelyard.adjustment import prospect
from steelyard.dayfile import Beside, PhotographFile
from steelyard.findings import Catalogue, Quantities, TradeOff
from steelyard.model import WeighDay
from steelyard.planning import Need, Needs
from steelyard.questions.figures import NeedShape, need_shape
from steelyard.questions.findings import line_schema
from steelyard.questions.shape import FORMAT, to_json


@dataclass(frozen=True, slots=True)
class Survey:
    """Which findings the drafts determine, which they do not and what would, and how many readings check the others.

    ``references`` names the reference state of each vehicle; ``tipped`` the states whose supports hold nothing up;
    ``reasons`` what trades off, by finding.
    """

    determined: tuple[str, ...]
    undetermined: tuple[tuple[str, tuple[Need, ...]], ...]
    redundancy: int
    references: dict[str, str]
    tipped: tuple[str, ...]
    reasons: dict[str, TradeOff] = field(default_factory=dict[str, TradeOff])


def survey(day: WeighDay) -> Survey:
    """Look at the equations of ``day`` alone: nothing here depends on what the readings say."""
    adjustment = prospect(day)
    quantities = Quantities(adjustment, Catalogue(adjustment).entries())
    needs = Needs(adjustment)
    determined: list[str] = []
    undetermined: list[tuple[str, tuple[Need, ...]]] = []
    reasons: dict[str, TradeOff] = {}
    for place, entry in enumerate(quantities.entries):
        if quantities.will_know(place):
            determined.append(entry.id)
        else:
            undetermined.append((entry.id, quantities.needs_of(place, needs)))
            why = quantities.why_open(place)
            if why is not None:
                reasons[entry.id] = why
    return Survey(
        tuple(determined),
        tuple(undetermined),
        max(adjustment.redundancy, 0),
        dict(adjustment.rig.reference),
        adjustment.tipped,
        reasons,
    )


@dataclass(frozen=True, slots=True)
class UndeterminedShape:
    """A finding that the drafts do not determine."""

    id: str
    needs: Annotated[tuple[NeedShape, ...], "Drafts that would determine it."]


@dataclass(frozen=True, slots=True)
class CheckedPhotographShape:
    """A photograph that the day names, and whether its picture beside the file is the one that was kept."""

    draft: Annotated[int, "Number of the draft that it shows."]
    place: Annotated[str | None, "The place whose display it shows; null where it shows the whole draft."]
    sha256: Annotated[str, "The digest that the record has."]
    file: Annotated[str | None, "Its name beside the file of the day."]
    kept: Annotated[
        Beside,
        "same: it is the one that was kept; other: it is not; missing: no such file; unreadable: it cannot be told; "
        "unnamed: the record names no file.",
    ]


@dataclass(frozen=True, slots=True)
class SurveyShape:
    """A sound file, and which findings its drafts will determine."""

    format: Literal[1]
    file: str
    determined: Annotated[tuple[str, ...], "Ids of the findings that will be known."]
    undetermined: tuple[UndeterminedShape, ...]
    redundancy: Annotated[int, "How many readings check the others."]
    references: Annotated[Mapping[str, str], "For each vehicle the state from which its changes are reckoned."]
    tipped: Annotated[tuple[str, ...], "States whose supports hold nothing up."]
    photographs: Annotated[tuple[CheckedPhotographShape, ...], "The photographs that the day names, in its order."]


def survey_data(found: Survey, *, file: str, photographs: Iterable[PhotographFile] = ()) -> dict[str, Any]:
    """The published survey, ready for ``json``; ``photographs`` as they were looked at beside the file."""
    undetermined = (
        UndeterminedShape(name, tuple(need_shape(need) for need in needs)) for name, needs in found.undetermined
    )
    return to_json(
        SurveyShape(
            format=FORMAT,
            file=file,
            determined=found.determined,
            undetermined=tuple(undetermined),
            redundancy=found.redundancy,
            references=found.references,
            tipped=found.tipped,
            photographs=tuple(_checked(item) for item in photographs),
        )
    )


def _checked(item: PhotographFile) -> CheckedPhotographShape:
    record = item.record
    return CheckedPhotographShape(record.draft, record.place, record.sha256, record.file, item.kept)


@cache
def survey_schema() -> dict[str, Any]:
    """The JSON Schema of what ``check --json`` prints: the survey of a sound file, or the faults of another."""
    return line_schema("Answer to 'check', format 1", SurveyShape)
