"""Every quantity of a weigh day by its id: which loads it adds up, or which two quantities it is the ratio of."""

from __future__ import annotations

from collections.abc import Collection

from steelyard.adjustment import Adjustment
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.recipes import Recipes, recipes_of
from steelyard.findings.result import Basis
from steelyard.findings.shape import shape_of


class Catalogue:
    """The findings of an adjusted day, in file order of states, then of pairs of states, then cargo."""

    def __init__(self, adjustment: Adjustment) -> None:
        self._adjustment = adjustment
        self._recipes: Recipes | None = None

    def entries(
        self,
        only: tuple[str, ...] | None = None,
        about: str | None = None,
        changes: Collection[tuple[str, str]] = (),
    ) -> list[CatalogueEntry]:
        """The entries of all states, or of some states and the changes between them; states that tip over have none.

        ``changes`` are pairs of states whose change is told on a day of many states too, in either order.

        With ``about``, only what is of that state, or changes towards it: also what a steering axle lost against every
        state in which its vehicle tows nothing, named or not, for that is a limit of the state itself.
        """
        self._recipes = recipes = recipes_of(shape_of(self._adjustment, only, about, changes))
        entries = recipes.filled(self._adjustment)
        return self._with_rules(recipes, entries) if self._adjustment.rig.day.rules.sets else entries

    def _with_rules(self, recipes: Recipes, entries: list[CatalogueEntry]) -> list[CatalogueEntry]:
        """The same with what chosen rules of the road ask for, after the other entries of each state."""
        from steelyard.findings.axle_groups import rule_entries  # with all forms of rules, which few days choose

        day, measured = self._adjustment.rig.day, self._adjustment.rig.day.measured_states()
        found: list[CatalogueEntry] = []
        first = 0
        for name, end in recipes.ends.items():
            found += entries[first:end]
            basis = Basis.MEASURED if name in measured else Basis.PREDICTED
            found += rule_entries(self._adjustment, day.states[name], basis)
            first = end
        return found + entries[first:]

    def steering_change(self, before: str, after: str, vehicle: str) -> CatalogueEntry:
        """The gain of the front axle as a share of its load before; neither state may tip over."""
        recipes = self._recipes
        if recipes is None or not recipes.loads.keys() >= {before, after}:
            recipes = recipes_of(shape_of(self._adjustment, (before, after), None, ()))
        return recipes.steering_change(before, after, vehicle)
