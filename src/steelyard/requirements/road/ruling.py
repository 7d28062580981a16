"""The ruling of one rule on one state: a limit on a finding, a comparison of papers, or the values that are missing."""

from __future__ import annotations

from dataclasses import field
from typing import Any

from steelyard.classes import dataclass
from steelyard.conformity import LimitCurve, Requirement, Sense
from steelyard.model import FindingId, Measurand, Rule, RuleSet, VerdictId, WeighDay
from steelyard.requirements.road.train import Train
from steelyard.units import Dimension, format_number


@dataclass(frozen=True, slots=True)
class Paper:
    """A comparison of values that stand in the file: a paper check, which has no doubt.

    Attributes
    ----------
    value: what is compared [SI]; None where the answer is in words alone, as a licence is. met: whether the rule is
    met; None: it says something and limits nothing. answer: in words, as the licence that is needed.
    """

    value: float | None
    limit: float | None
    sense: Sense
    dimension: Dimension
    met: bool | None
    answer: str = ""


@dataclass(frozen=True, slots=True)
class Ruling:
    """The ruling of a rule on a state. Of ``requirement``, ``paper`` and ``needs`` exactly one is given, or none.

    Attributes
    ----------
    subject: what it speaks of: a measurand as ``combination/axles/2-5``, a vehicle, or a coupling.
    label: the rule and its subject for people.
    requirement: a limit on a finding, to be judged with the finding's doubt. paper: a comparison without a doubt.
    needs: values of the file that are missing, as ``vehicles.tow.class``. With none of the three, the rule does not
    apply, and ``note`` says why.
    """

    rule_set: RuleSet
    rule: Rule
    state: str
    subject: str
    label: str
    requirement: Requirement | None = None
    paper: Paper | None = None
    needs: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class AskedRule:
    """One rule asked of the vehicles of one state. A form takes it and makes its rulings with it."""

    train: Train
    rule_set: RuleSet
    rule: Rule
    source: str = field(init=False)

    def __post_init__(self) -> None:
        read = "" if self.rule.grade.value == "A" else f", {self.rule.grade.words}"
        object.__setattr__(self, "source", f"{self.rule.cite} (rule set {self.rule_set.id}{read})")

    @property
    def day(self) -> WeighDay:
        """The weigh day."""
        return self.train.day

    @property
    def values(self) -> Any:
        """The parameters of the rule in SI units, by key."""
        return self.rule.values

    def limit(
        self,
        measurand: Measurand,
        limit: float,
        *,
        subject: str,
        sense: Sense = Sense.MAX,
        dimension: Dimension = Dimension.MASS,
        remedy: str = "",
        curve: LimitCurve | None = None,
        name: str = "",
        note: str = "",
    ) -> Ruling:
        """A limit [SI] on a measurand of the state; ``subject`` in words; ``name`` tells several limits on it apart."""
        finding: FindingId = measurand.at(self.train.state.id)
        rule = f"{self.rule.id}.{name}" if name else self.rule.id
        label = f"{subject}: {self.rule.title.lower() if self.rule.title[1:2].islower() else self.rule.title}"
        requirement = Requirement(
            str(VerdictId(finding, rule)),
            str(finding),
            label,
            limit,
            sense,
            self.source,
            dimension,
            remedy,
            curve,
            self.rule.id,
        )
        return self._ruling(str(measurand), label, note, requirement=requirement)

    def compare(self, about: str, paper: Paper, *, subject: str, note: str = "") -> Ruling:
        """A comparison of papers; ``about`` is the vehicle or coupling by its name in the file."""
        return self._ruling(about, f"{subject}: {self.rule.title}", note, paper=paper)

    def missing(self, about: str, *needs: str, subject: str, note: str = "") -> Ruling:
        """The rule cannot be judged; ``needs`` are the keys of the file that would tell."""
        return self._ruling(about, f"{subject}: {self.rule.title}", note, needs=needs)

    def silent(self, about: str, *, subject: str, note: str) -> Ruling:
        """The rule does not apply, ``note`` says why."""
        return self._ruling(about, f"{subject}: {self.rule.title}", note)

    def _ruling(self, about: str, label: str, note: str, **what: Any) -> Ruling:
        return Ruling(self.rule_set, self.rule, self.train.state.id, about, label, note=note, **what)


def mass_text(day: WeighDay, value: float) -> str:
    """A mass [kg] in the unit of the day, as ``3,500 kg``."""
    return f"{format_number(day.units.show(value, Dimension.MASS), 0)} {day.units.symbol(Dimension.MASS)}"
