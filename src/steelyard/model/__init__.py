"""Model: vehicle, coupling, cargo, instrument, state, draft and weigh day as validated values in SI units.

Owns what a weigh day is. Knows neither the file format nor any arithmetic on loads. Read ``dayfile`` (text in) or
``statics`` (loads out) next.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from steelyard.listing import named_later
from steelyard.model.cargo import Cargo, CargoError
from steelyard.model.coupling import Coupling, CouplingType, Marked
from steelyard.model.draft import Correction, CountedReading, Draft, Raise, WrittenReading
from steelyard.model.drift import drift_hours
from steelyard.model.finding_id import (
    CARGO,
    COMBINATION,
    COUPLING,
    FindingId,
    FindingIdError,
    Measurand,
    VerdictId,
    axle_group_load,
    axle_load,
    axle_spread,
    axles_load,
    cargo_finding,
    combination_gross,
    coupling_quantity,
    gross_load,
    side_load,
    wheel_load,
)
from steelyard.model.instrument import Instrument, InstrumentKind
from steelyard.model.papers import Brakes, LabelType, Papers
from steelyard.model.photograph import SHORT_DIGEST, Photograph
from steelyard.model.place import Place, PlaceError, WheelRef, parse_place
from steelyard.model.rounding import Rounding
from steelyard.model.rule import ChosenRules, Grade, Rule, RuleExample, RuleSet, Use
from steelyard.model.state import Distribution, DistributionKind, Link, State
from steelyard.model.tyre import Tyre, TyreKind, indexed_load
from steelyard.model.vehicle import Axle, Ratings, Role, Sharing, Unloaded, Vehicle, support_lines
from steelyard.model.weigh_day import Record, Site, WeighDay

if TYPE_CHECKING:
    from steelyard.model.digest import (
        FIRST_DIGEST,
        Json,
        content_digest,
        digest_of,
        in_utc,
        linked,
        running_digests,
    )
    from steelyard.model.verification import (
        AccuracyClass,
        EccentricTest,
        LoadStep,
        LoadTest,
        PermutedTest,
        Phase,
        RepeatTest,
        RoundTest,
        SmallMassTest,
        ToleranceTable,
        Verification,
        VerificationPlace,
        VerificationTest,
        ZeroReturnTest,
    )

__all__ = [
    "CARGO",
    "COMBINATION",
    "COUPLING",
    "FIRST_DIGEST",
    "SHORT_DIGEST",
    "AccuracyClass",
    "Axle",
    "Brakes",
    "Cargo",
    "CargoError",
    "ChosenRules",
    "Correction",
    "CountedReading",
    "Coupling",
    "CouplingType",
    "Distribution",
    "DistributionKind",
    "Draft",
    "EccentricTest",
    "FindingId",
    "FindingIdError",
    "Grade",
    "Instrument",
    "InstrumentKind",
    "Json",
    "LabelType",
    "Link",
    "LoadStep",
    "LoadTest",
    "Marked",
    "Measurand",
    "Papers",
    "PermutedTest",
    "Phase",
    "Photograph",
    "Place",
    "PlaceError",
    "Raise",
    "Ratings",
    "Record",
    "RepeatTest",
    "Role",
    "RoundTest",
    "Rounding",
    "Rule",
    "RuleExample",
    "RuleSet",
    "Sharing",
    "Site",
    "SmallMassTest",
    "State",
    "ToleranceTable",
    "Tyre",
    "TyreKind",
    "Unloaded",
    "Use",
    "Vehicle",
    "VerdictId",
    "Verification",
    "VerificationPlace",
    "VerificationTest",
    "WeighDay",
    "WheelRef",
    "WrittenReading",
    "ZeroReturnTest",
    "axle_group_load",
    "axle_load",
    "axle_spread",
    "axles_load",
    "cargo_finding",
    "combination_gross",
    "content_digest",
    "coupling_quantity",
    "digest_of",
    "drift_hours",
    "gross_load",
    "in_utc",
    "indexed_load",
    "linked",
    "parse_place",
    "running_digests",
    "side_load",
    "support_lines",
    "wheel_load",
]

_LATER = {
    "digest": ("FIRST_DIGEST", "Json", "content_digest", "digest_of", "in_utc", "linked", "running_digests"),
    "verification": (
        "AccuracyClass",
        "EccentricTest",
        "LoadStep",
        "LoadTest",
        "PermutedTest",
        "Phase",
        "RepeatTest",
        "RoundTest",
        "SmallMassTest",
        "ToleranceTable",
        "Verification",
        "VerificationPlace",
        "VerificationTest",
        "ZeroReturnTest",
    ),
}
"""Names that are loaded with their file when they are first asked for: few who weigh a day need them."""


def __getattr__(name: str) -> object:
    """A name of ``_LATER``.

    Raises
    ------
    AttributeError: there is no such name.
    """
    return named_later(name, _LATER, globals(), lambda file: import_module(f"steelyard.model.{file}"))
