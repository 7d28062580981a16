"""From a weigh day to findings, verdicts, consistency and cautions: the call that every face shares."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from steelyard.adjustment import Adjustment, adjust, centre_heights, extend
from steelyard.classes import dataclass
from steelyard.conformity import Requirement
from steelyard.findings.catalogue import Catalogue
from steelyard.findings.cautions import cautions_of
from steelyard.findings.contested import Contest
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.quantities import Quantities
from steelyard.findings.raised import height_cautions, with_heights
from steelyard.findings.result import Finding, Findings
from steelyard.model import FindingId, WeighDay
from steelyard.requirements import requirements_of

if TYPE_CHECKING:
    from steelyard.loading import Scenario


@dataclass(frozen=True)
class Weighed:
    """A solved weigh day that can be asked again and again."""

    adjustment: Adjustment

    def findings(self, changes: Collection[tuple[str, str]] = (), shown: Collection[str] = ()) -> Findings:
        """Everything the readings support, in SI units.

        ``changes`` are pairs of states whose change is told on a day of many states too. ``shown``: states that are
        asked for; others that are put away have no findings, and the day that comes with them is without these states.
        """
        day = self.adjustment.rig.given
        told = day.without_put_away((*shown, *(state for pair in changes for state in pair)))
        entries = Catalogue(self.adjustment).entries(changes=changes)
        if told is not day:
            gone = day.states.keys() - told.states.keys()
            entries = [one for one in entries if gone.isdisjoint(FindingId.parse(one.id).states)]
        return replace(results_of(self.adjustment, entries), day=told)

    def ask(self, scenario: Scenario, name: str = "what_if") -> Findings:
        """The state that ``scenario`` would make, and what it would change against its base.

        The prediction is the operator on top of the estimates, with their joint covariance; nothing is solved again.

        Raises
        ------
        ScenarioError: the day cannot make the scenario.
        """
        asked = extend(self.adjustment, self._with(scenario, name))
        return results_of(asked, Catalogue(asked).entries((scenario.base, name), about=name), only=name)

    def with_scenario(self, scenario: Scenario, name: str = "what_if") -> Weighed:
        """The same day with the state that ``scenario`` would make, to be asked about as any other; nothing is solved.

        Raises
        ------
        ScenarioError: the day cannot make the scenario.
        """
        return Weighed(extend(self.adjustment, self._with(scenario, name)))

    def refuse_fallen(self, state: str) -> None:
        """See that a state stands, so that it can be asked about; one that the day does not have is not refused here.

        Raises
        ------
        ScenarioError: what it stands on does not hold it up.
        """
        if state in self.adjustment.tipped:
            from steelyard.loading import ScenarioError  # what is asked backwards is not loaded for findings

            raise ScenarioError(f"what it stands on in state {state!r} does not hold it up, so there are no numbers")

    def _with(self, scenario: Scenario, name: str) -> WeighDay:
        """The day with one more state; one may stand that is made of a state whose load tipped it over."""
        if scenario.base not in self.adjustment.rig.day.states:
            self.refuse_fallen(scenario.base)
        from steelyard.loading import applied

        return applied(self.adjustment.rig.day, scenario, name)


def solve(day: WeighDay) -> Weighed:
    """Solve a weigh day once, to be asked for findings and for what would be."""
    return Weighed(adjust(day))


def weigh(day: WeighDay, changes: Collection[tuple[str, str]] = (), shown: Collection[str] = ()) -> Findings:
    """Everything the readings of ``day`` support, in SI units.

    States whose supports do not hold the rig up have no findings; a caution says so. A finding that the readings do
    not determine carries the smallest set of drafts that would. ``changes`` are pairs of states whose change is told
    on a day of many states too, where otherwise only neighbours are compared. States that are put away are left out but
    for ``shown``; their being there or not changes no figure of any other state.
    """
    return solve(day).findings(changes, shown)


def results_of(
    adjustment: Adjustment, entries: list[CatalogueEntry], only: str | None = None, more: tuple[Requirement, ...] = ()
) -> Findings:
    """Findings and verdicts of ``entries``; of those of one state and of changes to it where ``only`` names it.

    ``more`` are requirements beyond those of the day.
    """
    told = entries if only is None else [entry for entry in entries if entry.state == only]
    quantities = Quantities(adjustment, told)
    contest = Contest(quantities, adjustment.explanations)
    findings = contest.marked(quantities.findings())
    heights = centre_heights(adjustment) if only is None else ()
    findings = with_heights(findings, heights, adjustment)
    ids = {finding.id for finding in findings}
    requirements = [item for item in (*requirements_of(adjustment.rig.day, only), *more) if item.finding in ids]
    verdicts = [one for one in contest.verdicts(requirements, findings) if isfinite(one.limit)]
    cautions = (*cautions_of(adjustment, findings), *height_cautions(adjustment.rig.day, heights))
    return Findings(adjustment.rig.given, findings, tuple(verdicts), adjustment.consistency, cautions)


def findings_of(adjustment: Adjustment, entries: list[CatalogueEntry]) -> list[Finding]:
    """A finding for each entry, in order, marked where readings contradict one another."""
    quantities = Quantities(adjustment, entries)
    return Contest(quantities, adjustment.explanations).marked(quantities.findings())
