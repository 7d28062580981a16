"""Do the readings agree with one another: the global test and the suspects."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading [kg] that does not fit, with the slips that would explain it in words."""

    draft: int
    place: str
    instrument: str
    reading: float
    normalised_residual: float
    explanations: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Consistency:
    """The global test (``p`` is None where nothing is redundant) and the suspects, worst first."""

    chi2: float
    dof: float
    p: float | None
    consistent: bool
    suspects: tuple[Suspect, ...]
