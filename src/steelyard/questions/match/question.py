"""The question who may tow what, and the shape in which its answer is published."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from steelyard.dayfile import DayFileError
from steelyard.findings import STANDING
from steelyard.loading import ScenarioError
from steelyard.names import meant
from steelyard.questions.entry import Entry
from steelyard.questions.faults import LeftOutShape, OnlyLeftOutShape, left_out_shapes
from steelyard.questions.figures import (
    FindingShape,
    PaperShape,
    VerdictShape,
    finding_shape,
    paper_shape,
    verdict_shape,
)
from steelyard.questions.kinds import Text
from steelyard.questions.limits import wrong_words
from steelyard.questions.match.across import Loaded, pairs_of
from steelyard.questions.match.pairs import Pair
from steelyard.questions.shape import FORMAT, Units
from steelyard.requirements import NOT_LEGAL_ADVICE
from steelyard.units import UnitSystem

ACROSS = (
    "A pair of two files was never weighed together: both days are solved as one, and how high the coupling rides is "
    "not known."
)

RULES_OF_FIRST = "The files chose different rules of the road; a pair is judged by those of its towing vehicle's file."

LEVER = (
    "The shares at which a pair works hold for a trailer of the same mass whose load is moved along it, every wheel on "
    "the ground."
)


@dataclass(frozen=True, slots=True)
class MatchQuestion:
    """Every towing vehicle against every trailer."""

    state: Annotated[
        str | None,
        Text("Each vehicle is loaded as in this state if it stands there; otherwise as it was last weighed."),
    ] = None


@dataclass(frozen=True)
class MatchAnswer:
    """All pairs, in the order of the files and of their vehicles.

    ``cautions`` are on all of them; ``left_out`` are files with faults.
    """

    pairs: tuple[Pair, ...]
    units: UnitSystem
    cautions: tuple[str, ...]
    left_out: tuple[DayFileError, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkingSharesShape:
    """Shares of the trailer's gross on the coupling, in per cent; both null where no share would work."""

    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class PairShape:
    """One trailer hitched on paper to one coupling, without weight distribution."""

    file: str
    trailer_file: Annotated[str, "The file of the trailer; another one where the two were not weighed on one day."]
    towing: Annotated[str, "The towing vehicle."]
    at: Annotated[str, "Its coupling; empty where it has none that takes the trailer."]
    trailer: str
    towing_as: Annotated[str, "The state as in which the towing vehicle is loaded."]
    trailer_as: Annotated[str, "The state as in which the trailer is loaded."]
    verdict: Annotated[
        Literal["within", "undecided", "outside"] | None,
        "The worst of all verdicts and paper checks; null where one is not judged and none is worse.",
    ]
    binds: Annotated[
        VerdictShape | None,
        "The limit that leaves least of those with that verdict: of loads in mass, of shares as a part of the limit.",
    ]
    works: Annotated[
        WorkingSharesShape | None, "At which shares every limit would be kept at 95 %; null where nobody can tell."
    ]
    load: Annotated[FindingShape | None, "The load on the coupling."]
    share: Annotated[FindingShape | None, "The same as a part of the trailer's gross."]
    gross: Annotated[FindingShape | None, "The gross of the trailer."]
    verdicts: tuple[VerdictShape, ...]
    papers: Annotated[tuple[PaperShape, ...], "Chosen rules of the road that compare papers, the licence among them."]
    why: Annotated[str, "Why nothing is predicted; else empty."]


@dataclass(frozen=True, slots=True)
class MatchShape:
    """Every towing vehicle with every trailer, and the verdicts on each pair."""

    format: Literal[1]
    units: Units
    pairs: tuple[PairShape, ...]
    cautions: tuple[str, ...]
    left_out: Annotated[tuple[LeftOutShape, ...], "Files with faults, which are not matched."]


def _answer(files: Sequence[Loaded], question: MatchQuestion) -> MatchAnswer:
    if not files:
        raise ScenarioError("no file is left to match vehicles of")
    days = [weighed.adjustment.rig.given for _, weighed in files]
    state = question.state
    if state is not None and not any(state in day.states for day in days):
        known = sorted({name for day in days for name in day.states})
        raise ScenarioError(f"no file has a state {state!r}; {meant(state, known, 'there are')}")
    pairs = pairs_of(files, state)
    if not pairs:
        raise ScenarioError("the files do not have a towing vehicle and a trailer, so there is nothing to match")
    across = any(pair.file != pair.trailer_file and not pair.why for pair in pairs)
    cautions = [LEVER, *([ACROSS] if across else [])]
    if across and len({tuple(one.id for one in day.rules.sets) for day in days}) > 1:
        cautions.append(RULES_OF_FIRST)
    if any(day.rules.sets for day in days):
        cautions.append(NOT_LEGAL_ADVICE)
    for file, weighed in files:
        wrong = wrong_words(weighed)
        if wrong:
            cautions.append(f"{file}: the readings contradict one another; what may be wrong: {'; '.join(wrong[:3])}.")
    return MatchAnswer(tuple(pairs), days[0].units, tuple(cautions))


def _shaped(answer: MatchAnswer, file: str) -> MatchShape:
    del file
    units = answer.units
    return MatchShape(
        format=FORMAT,
        units=Units(units.mass, units.length),
        pairs=tuple(_pair(pair, units) for pair in answer.pairs),
        cautions=(*answer.cautions, *STANDING),
        left_out=left_out_shapes(answer.left_out),
    )


def _pair(pair: Pair, units: UnitSystem) -> PairShape:
    load, share, gross = (
        None if one is None else finding_shape(one, units) for one in (pair.load, pair.share, pair.gross)
    )
    works = None
    if pair.works is not None:
        works = WorkingSharesShape(*(None if end is None else 100.0 * end for end in (pair.works.low, pair.works.high)))
    return PairShape(
        file=pair.file,
        trailer_file=pair.trailer_file,
        towing=pair.towing,
        at=pair.at,
        trailer=pair.trailer,
        towing_as=pair.towing_as,
        trailer_as=pair.trailer_as,
        verdict=None if pair.outcome is None else pair.outcome.value,
        binds=None if pair.binds is None else verdict_shape(pair.binds, units),
        works=works,
        load=load,
        share=share,
        gross=gross,
        verdicts=tuple(verdict_shape(verdict, units) for verdict in pair.verdicts),
        papers=tuple(paper_shape(one) for one in pair.papers),
        why=pair.why,
    )


MATCH = Entry(MatchQuestion, _answer, MatchShape, _shaped, slow=True, otherwise=(OnlyLeftOutShape,))
"""``steelyard match``: every towing vehicle against every trailer, hitched on paper."""
