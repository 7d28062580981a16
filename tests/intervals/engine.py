"""The product's findings of a simulated day, as the data that it publishes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.simulated.scenarios import Simulated


class RefusedError(Exception):
    """The product found faults in a simulated file, which has none."""


@dataclass(frozen=True)
class Interval:
    """One determined finding: value, standard uncertainty and 95 % coverage interval, in the file's units."""

    value: float
    u: float
    low: float
    high: float


@dataclass(frozen=True)
class Answer:
    """What the product says of a day: determined findings, ids of undetermined ones, consistency, suspects."""

    intervals: dict[str, Interval]
    undetermined: set[str]
    consistent: bool
    p: float | None
    suspects: list[tuple[str, str]]  # draft (key or number) and place


def ask(simulated: Simulated) -> Answer:
    """Weigh a simulated day with the product.

    Raises RefusedError where the product refuses the file, and ImportError where the product is not complete.
    """
    from steelyard.dayfile import parse_day
    from steelyard.findings import weigh
    from steelyard.questions.findings import findings_data

    file = f"{simulated.kind}-{simulated.seed}.toml"
    data: Any = findings_data(weigh(parse_day(simulated.text, file)), file=file)
    if "errors" in data:
        raise RefusedError(str(data["errors"]))
    return read(data)


def read(data: dict[str, Any]) -> Answer:
    """Take apart the published data of one day."""
    intervals: dict[str, Interval] = {}
    undetermined: set[str] = set()
    for finding in data["findings"]:
        if finding["determined"]:
            numbers = [float(finding[key]) for key in ("value", "u", "low", "high")]
            if not all(math.isfinite(number) for number in numbers):
                message = f"{finding['id']}: {numbers}"
                raise ValueError(message)
            intervals[finding["id"]] = Interval(*numbers)
        else:
            undetermined.add(finding["id"])
    consistency = data["consistency"]
    suspects = [(str(suspect["draft"]), str(suspect["place"])) for suspect in consistency["suspects"]]
    return Answer(intervals, undetermined, bool(consistency["consistent"]), consistency["p"], suspects)
