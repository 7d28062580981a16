"""Bodies that programs send to be added to a day, shaped as in the weigh-day file; its reader checks the values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from steelyard.model import Use
from steelyard.questions.shape import OMIT, Also, Omit

SentKey = Annotated[
    str,
    "Made by the sender and never used again: sent twice, it is kept once.",
    Also(minLength=1, maxLength=200),
]
"""Key of an addition."""

_SHOWN = Also(examples=["2960 lb"])
_Load = Annotated[
    Annotated[float, Also(minimum=0)] | str,
    "What was shown: a number in the day's mass unit, or a text with its unit.",
    _SHOWN,
]
_Moment = Annotated[str, "When it was made, ISO 8601.", Also(format="date-time")]
_Amount = str | float
_Names = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SentDraft:
    """A draft, shaped as in the weigh-day file."""

    key: SentKey
    state: Annotated[str, "A state of the day."]
    readings: Annotated[
        Mapping[str, tuple[str, _Load]], "For each place the instrument and what it showed.", Also(minProperties=1)
    ]
    at: _Moment | Omit = OMIT
    label: Annotated[str | Omit, "Name of the draft for people."] = OMIT
    note: Annotated[str | Omit, "A remark."] = OMIT
    placement: Annotated[str | Omit, "Drafts of the same name were taken without moving the rig or the pads."] = OMIT
    unsupported: Annotated[Literal["ground"] | Omit, "Wheels without a pad stand on the ground."] = OMIT
    heading: Annotated[Literal["reversed"] | Omit, "The rig faced the other way than the slope is stated for."] = OMIT
    raised: Annotated[
        Mapping[str, _Amount] | Omit,
        "For each raised axle or coupling point by how much, against the others.",
    ] = OMIT
    suspension: Annotated[Literal["blocked"] | Omit, "The springs were kept from moving while it was raised."] = OMIT
    blocks: Annotated[_Names | Omit, "Of these, wheels that stand on blocks as high as the pads."] = OMIT


@dataclass(frozen=True, slots=True)
class SentCorrection:
    """A correction: a new record with a reason, beside a reading, a draft or a state.

    A draft has another label then; a state has another label, or is put away or brought back.
    """

    key: SentKey
    reason: Annotated[str, "Why.", Also(minLength=1)]
    draft: Annotated[str | Annotated[int, Also(minimum=1)] | Omit, "Key or number of the draft; or name a state."] = (
        OMIT
    )
    place: Annotated[str | Omit, "The place of the reading; left out with a label."] = OMIT
    value: Annotated[_Load | Omit, "What counts instead; without it the reading is set aside."] = OMIT
    label: Annotated[
        str | Omit, "What the draft or the state is called from now on: without place, value and away."
    ] = OMIT
    state: Annotated[str | Omit, "Instead of a draft: the id of a state."] = OMIT
    away: Annotated[bool | Omit, "With a state: whether it is put away, so that it is not shown, or brought back."] = (
        OMIT
    )
    at: _Moment | Omit = OMIT


@dataclass(frozen=True, slots=True)
class SentChoice:
    """A choice of rules of the road, shaped as `[rules]` in the weigh-day file. It counts instead of the one before."""

    key: SentKey
    apply: Annotated[_Names, "Names of rule sets; an empty list chooses none."]
    where: Annotated[str | Omit, "The place where the combination drives, as `DE`."] = OMIT
    use: Annotated[Use | Omit, "What it is used for."] = OMIT
    licence: Annotated[_Names | Omit, "The groups or categories that the driver holds."] = OMIT
    from_memory: Annotated[bool | Omit, "Whether rules that nobody could check are judged too."] = OMIT


@dataclass(frozen=True, slots=True)
class SentTitle:
    """Another title of a day; it counts instead of the one before, which stays on record."""

    key: SentKey
    title: Annotated[str, "One line of words.", Also(minLength=1, maxLength=200)]


@dataclass(frozen=True, slots=True)
class SentState:
    """A state: as in the weigh-day file, or the same as another with some cargo more or less."""

    name: Annotated[str, "Letters, digits, - and _."]
    key: SentKey | Omit = OMIT
    same: Annotated[str | Omit, "A state of the day; this one is the same ..."] = OMIT
    with_: Annotated[_Names | Omit, "... with this cargo aboard too ..."] = OMIT
    without: Annotated[_Names | Omit, "... and without this."] = OMIT
    vehicles: Annotated[_Names | Omit, "Vehicles in the state."] = OMIT
    couple: Annotated[Mapping[str, Any] | tuple[Any, ...] | Omit, "A coupling or a list of them, as in the file."] = (
        OMIT
    )
    cargo: Annotated[_Names | Omit, "Cargo aboard."] = OMIT
    change: Annotated[Mapping[str, Any] | Omit, "What is different about cargo in this state, as in the file."] = OMIT


@dataclass(frozen=True, slots=True)
class SentCargo:
    """A cargo, shaped as in the weigh-day file."""

    name: Annotated[str, "Letters, digits, - and _."]
    on: Annotated[str, "A vehicle of the day."]
    key: SentKey | Omit = OMIT
    title: Annotated[str | Omit, "The name for people; `name` in the file."] = OMIT
    movable: Annotated[bool | Omit, "Whether it may be moved to put a state right."] = OMIT
    mass: Annotated[_Amount | Omit, "Mass."] = OMIT
    volume: Annotated[_Amount | Omit, "Volume of a full tank."] = OMIT
    density: Annotated[_Amount | Omit, "Density of what a tank holds."] = OMIT
    level: Annotated[_Amount | Omit, "Part of a tank that is full."] = OMIT
    x: Annotated[_Amount | Omit, "Place along the vehicle."] = OMIT
    y: Annotated[_Amount | Omit, "Place across the vehicle, to the left."] = OMIT
    z: Annotated[_Amount | Omit, "Height."] = OMIT
    rate: Annotated[str | Omit, "How fast the amount changes by itself, by mass or volume and time."] = OMIT


@dataclass(frozen=True, slots=True)
class AdditionShape:
    """The outcome of an addition. It is on disk."""

    key: str | None
    number: Annotated[int, "Its place among the things of its kind in the file, from 1.", Also(minimum=0)]
    seq: Annotated[
        int,
        "Its place among the additions to the day; 0 for a draft of the imported file.",
        Also(minimum=0),
    ]
    replay: Annotated[bool, "Whether it was there before."]
