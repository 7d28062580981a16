"""The layout of a folder of answers: its tables, their columns, and how its parts are named.

    FOLDER/findings/program=0.9.0/part-<digest>.parquet      and verdicts/, faults/, days/ likewise
    FOLDER/_manifest.jsonl                                   a line for each part that is whole

A part's name follows from its input, so that making it twice is harmless. Masses and lengths of a folder are all in one
system of units. Parquet is that of Apache, file format 2.6.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "number", "count", "flag"]
"""Text, a double, a whole number of 64 bits, true or false; each may be absent where its column says so."""

DAYS, FINDINGS, VERDICTS, FAULTS = "days", "findings", "verdicts", "faults"
MANIFEST, ABOUT = "_manifest.jsonl", "_about.json"

DAY_DIGITS = 16
"""How many hexadecimal digits of the SHA-256 of its text name a day."""


class AnswersFolderError(Exception):
    """A folder of answers that cannot be used; the message names it and says what would be right."""


@dataclass(frozen=True, slots=True)
class BatchColumn:
    """One column of a table; ``absent`` where a row may have no value."""

    name: str
    kind: Kind
    about: str
    absent: bool = False


_DAY = (
    BatchColumn(
        "day",
        "text",
        "Digest of the day: the first 16 hexadecimal digits of the SHA-256 of its text; empty where it has no text.",
    ),
    BatchColumn("source", "text", "Where the day came from: a path, or an id in a store."),
)
_SPREAD = (
    BatchColumn("value", "number", "The estimate; absent where the readings do not determine it.", absent=True),
    BatchColumn("u", "number", "Standard uncertainty.", absent=True),
    BatchColumn("low", "number", "Lower end of the 95 % interval; of a contested row of all answers.", absent=True),
    BatchColumn("high", "number", "Upper end of the 95 % interval; of a contested row of all answers.", absent=True),
)

COLUMNS: dict[str, tuple[BatchColumn, ...]] = {
    DAYS: (
        *_DAY,
        BatchColumn("title", "text", "Title of the day."),
        BatchColumn("at", "text", "Date of the day (RFC 3339), where one is known.", absent=True),
        BatchColumn("findings", "count", "How many findings the day has."),
        BatchColumn("verdicts", "count", "How many verdicts the day has."),
        BatchColumn("chi2", "number", "Weighted sum of squared residuals."),
        BatchColumn("dof", "number", "Degrees of freedom."),
        BatchColumn("p", "number", "Probability of a sum at least this large.", absent=True),
        BatchColumn("consistent", "flag", "Whether the readings agree with one another."),
        BatchColumn("suspects", "count", "How many readings are suspect."),
        BatchColumn("cautions", "text", "The cautions of the day, as a JSON list of sentences."),
    ),
    FINDINGS: (
        *_DAY,
        BatchColumn("id", "text", "Name of the finding."),
        BatchColumn("state", "text", "State that it is about; of a change, the state that it leads to; or empty."),
        BatchColumn("since", "text", "Of a change, the state that it starts from; otherwise empty."),
        BatchColumn("owner", "text", "Vehicle or cargo; or combination, or coupling."),
        BatchColumn("role", "text", "towing, towed or alone: what the vehicle does in the state; else empty."),
        BatchColumn("quantity", "text", "Kind of quantity, such as wheel, axle, gross, load or share."),
        BatchColumn("place", "text", "Which wheel, axle, side or coupling; empty where there is one only."),
        BatchColumn("label", "text", "The quantity in words."),
        *_SPREAD,
        BatchColumn("unit", "text", "Unit of the figures before."),
        BatchColumn("basis", "text", "measured where the state has a draft, otherwise predicted."),
        BatchColumn("determined", "flag", "Whether the readings determine it."),
        BatchColumn("contested", "flag", "Whether it depends on which of the contradicting readings is wrong."),
    ),
    VERDICTS: (
        *_DAY,
        BatchColumn("id", "text", "Name of the verdict: the finding and the requirement."),
        BatchColumn("finding", "text", "Name of the finding that is limited."),
        BatchColumn("requirement", "text", "Name of the requirement, such as gvwr or rating."),
        BatchColumn("state", "text", "State of that finding, as in the table of findings."),
        BatchColumn("owner", "text", "Its vehicle, combination or coupling."),
        BatchColumn("role", "text", "Its role, as in the table of findings."),
        BatchColumn("label", "text", "The requirement in words."),
        BatchColumn("limit", "number", "The limit."),
        BatchColumn("sense", "text", "max or min."),
        BatchColumn("value", "number", "The finding; absent where the readings do not determine it.", absent=True),
        BatchColumn("u", "number", "Standard uncertainty of the finding.", absent=True),
        BatchColumn("margin", "number", "Room to the limit; below zero where it is not kept.", absent=True),
        BatchColumn("unit", "text", "Unit of the figures before."),
        BatchColumn("probability", "number", "Probability that the requirement is met.", absent=True),
        BatchColumn("verdict", "text", "within, undecided or outside; absent where it is not judged.", absent=True),
        BatchColumn("basis", "text", "Basis of the finding: measured or predicted."),
        BatchColumn("source_of_limit", "text", "Where the limit comes from."),
        BatchColumn("contested", "flag", "Whether it depends on which of the contradicting readings is wrong."),
    ),
    FAULTS: (
        *_DAY,
        BatchColumn(
            "kind", "text", "unreadable, faulty, broken (a fault of the program) or quarantined (three tries)."
        ),
        BatchColumn("line", "count", "Line in the text, from 1, where there is one.", absent=True),
        BatchColumn("place", "text", "Place in the file, in its own words; empty where there is none."),
        BatchColumn("value", "text", "The value as it was written, shortened; empty where there is none."),
        BatchColumn("message", "text", "What is wrong and what would be right."),
    ),
}


@dataclass(frozen=True, slots=True)
class DayText:
    """One weigh day on its way in: where it came from, when where that is known, and its text.

    ``text`` holds a half character for each byte that is no UTF-8 (``surrogateescape``). ``unread`` says why there is
    no text at all, where there is none.
    """

    source: str
    text: str
    at: str | None = None
    unread: str | None = None

    @property
    def day(self) -> str:
        """The name of the day everywhere: the digest of its text; empty where there is none."""
        return day_digest(self.text) if self.unread is None else ""


def day_digest(text: str) -> str:
    """The first 16 hexadecimal digits of the SHA-256 of a day's text."""
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:DAY_DIGITS]
