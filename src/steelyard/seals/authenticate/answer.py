"""The answer of the check, as ``authenticate --json`` publishes it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Literal

from steelyard.questions.shape import FORMAT, either_schema


class SealJudgement(StrEnum):
    """The judgement on a seal and on the files that were given with it."""

    GENUINE = "genuine"
    UNKNOWN_KEY = "unknown_key"
    REVOKED_KEY = "revoked_key"
    DIFFERENT = "different"
    BROKEN = "broken"
    NO_SEAL = "no_seal"


WORST_FIRST = tuple(reversed(SealJudgement))


class SealedPart(StrEnum):
    """The part of a sealed day that differs."""

    FIGURE = "figure"
    VERDICTS = "verdicts"
    TITLE = "title"
    FINDINGS = "findings"
    READINGS = "readings"
    DAY_FILE = "day_file"
    CODE = "code"
    PRINT = "print"
    SERIES = "series"
    TIME = "time"


@dataclass(frozen=True, slots=True)
class KeyShape:
    """The key that sealed, and what is known of it."""

    fingerprint: Annotated[str, "First 16 bytes of its SHA-256, in four groups."]
    public: Annotated[str, "The public key, in hexadecimal."]
    standing: Annotated[Literal["known", "own", "unknown", "retired", "revoked"], "Whether it is known, and good."]
    name: Annotated[str, "Whose it is, as the list of known keys says; empty where nobody said."]
    words: Annotated[str, "The same in a sentence."]


@dataclass(frozen=True, slots=True)
class SealedFigureShape:
    """One figure that is sealed, in the seal's unit."""

    id: Annotated[str, "Id of the finding."]
    what: Annotated[str, "In words."]
    value: float
    u: Annotated[float, "Standard uncertainty."]
    contested: bool


@dataclass(frozen=True, slots=True)
class VerdictCounts:
    """How many limits are kept and how many are not."""

    within: int
    undecided: int
    outside: int
    not_determined: int


@dataclass(frozen=True, slots=True)
class TroubleShape:
    """A limit that was not within."""

    id: Annotated[str, "Id of the verdict."]
    verdict: Literal["undecided", "outside"]


@dataclass(frozen=True, slots=True)
class SealedShape:
    """Everything that the seal says."""

    seal: Annotated[str, "SHA-256 of the seal, which the weigher's next one names, in hexadecimal."]
    number: Annotated[int, "Running number of the weigher's seals, from 1."]
    previous: Annotated[str | None, "SHA-256 of the seal before; null for the first."]
    sealed_at: Annotated[str, "By the weigher's clock, in UTC."]
    title: str
    date: str | None
    unit: Annotated[str, "Of the figures."]
    decimals: Annotated[int, "Of the figures."]
    figures: tuple[SealedFigureShape, ...]
    left_out: Annotated[str, "Which figures are not sealed one by one, for want of room: `nothing`, `the wheels`, ..."]
    verdicts: VerdictCounts
    troubles: Annotated[tuple[TroubleShape, ...], "Limits that were not within, as many as there was room for."]
    p: Annotated[float | None, "Of the readings' consistency; null where nothing checked them."]
    findings: Annotated[str, "SHA-256 of the findings as canonical JSON with an empty `file`."]
    readings: Annotated[str, "SHA-256 of the drafts and corrections."]
    day_file: Annotated[str, "SHA-256 of the bytes of the weigh-day file."]
    program: Annotated[str, "Version of the program that sealed."]


@dataclass(frozen=True, slots=True)
class NotAsSealedShape:
    """One thing that is not as it was sealed."""

    part: SealedPart
    id: Annotated[str, "Id of the finding; empty for anything else."]
    what: Annotated[str, "What differs, in words."]
    here: Annotated[str, "As it is here; empty where the sentence says it all."]
    sealed: Annotated[str, "As it was sealed; empty where the sentence says it all."]

    @property
    def words(self) -> str:
        """The whole as one sentence."""
        return f"{self.what}: {self.here} here, {self.sealed} sealed" if self.here or self.sealed else self.what


@dataclass(frozen=True, slots=True)
class SealAnswerShape:
    """The judgement on one seal and on what goes with it."""

    judgement: SealJudgement
    files: Annotated[tuple[str, ...], "Where the seal and what goes with it were found."]
    reason: Annotated[str, "Why there is no seal, or why it is broken; empty otherwise."]
    key: Annotated[KeyShape | None, "Null where no signature is right."]
    sealed: Annotated[SealedShape | None, "Null where no signature is right."]
    compared: Annotated[tuple[str, ...], "What was compared with the seal and agrees, in words."]
    differences: tuple[NotAsSealedShape, ...]
    notes: Annotated[tuple[str, ...], "What else should be known."]
    on_paper: Annotated[bool, "Whether a person must compare the figures with the paper."]


@dataclass(frozen=True, slots=True)
class SealsShape:
    """The judgement on all that was given."""

    format: Literal[1]
    judgement: Annotated[SealJudgement, "The worst of all."]
    seals: tuple[SealAnswerShape, ...]
    series: Annotated[tuple[str, ...], "What several seals of one key say of one another: gaps, contradictions."]


@dataclass(frozen=True, slots=True)
class UnreadableShape:
    """Something that could not be read."""

    file: str
    message: str


@dataclass(frozen=True, slots=True)
class NothingReadShape:
    """The files that could not be read at all; nothing is judged then."""

    format: Literal[1]
    errors: tuple[UnreadableShape, ...]


def whole_answer(seals: tuple[SealAnswerShape, ...], series: tuple[str, ...]) -> SealsShape:
    """The answer on all seals together. Its judgement is the worst of theirs."""
    found = {item.judgement for item in seals}
    worst = next((item for item in WORST_FIRST if item in found), SealJudgement.NO_SEAL)
    return SealsShape(FORMAT, worst, seals, series)


@cache
def authenticate_schema() -> dict[str, Any]:
    """The JSON Schema of the answer, or of what could not be read."""
    return either_schema("Answer to 'authenticate', format 1", SealsShape, NothingReadShape)
