"""The true value of every finding of a simulated day, from its true loads and lengths, nothing made linear."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steelyard.findings import Catalogue, CatalogueEntry, height_entry
from steelyard.model import CouplingType, FindingId
from steelyard.requirements import coupling_force
from steelyard.simulation.draws import Drawn
from steelyard.simulation.likeness import Likeness
from steelyard.units import Dimension, UnitSystem

Array = NDArray[np.float64]

METRIC = UnitSystem("kg", "m")
"""The units of true values in files."""


class Truths:
    """The findings that a day like one has, and how their true values follow from its true loads.

    Attributes
    ----------
    ids, labels, units, factors: of each finding; ``factors`` take a value in the unit to SI.
    """

    def __init__(self, likeness: Likeness) -> None:
        self._like = likeness
        entries = Catalogue(likeness.base).entries()
        known = [entry for entry in entries if entry.fixed is not None or entry.told]
        self._heights = slice(len(known), len(known) + len(likeness.raised.told))
        self.entries = [*known, *(height_entry(one, likeness.day) for one in likeness.raised.told)]
        self.ids = tuple(entry.id for entry in self.entries)
        self.labels = tuple(entry.label for entry in self.entries)
        self.units = tuple(METRIC.symbol(entry.dimension) for entry in self.entries)
        self.factors = np.array([METRIC.factor(entry.dimension) for entry in self.entries])
        outputs = likeness.loads.layout.outputs
        self._tops, self._bottoms = np.zeros((outputs, len(self.entries))), np.zeros((outputs, len(self.entries)))
        for column, entry in enumerate(self.entries):
            for at, factor in entry.terms.items():
                self._tops[at, column] = factor
            for at, factor in entry.over.items():
                self._bottoms[at, column] = factor
        self._stated = [column for column, entry in enumerate(self.entries) if entry.fixed is not None]
        self._forces = [column for column, entry in enumerate(self.entries) if entry.dimension is Dimension.FORCE]

    @property
    def stated(self) -> int:
        """How many findings are stated in the file and enter no equation."""
        return len(self._stated)

    def of(self, drawn: Drawn) -> Array:
        """True values in the units of ``units``, shape (n, findings)."""
        top, bottom = drawn.loads @ self._tops, drawn.loads @ self._bottoms
        ratio = np.zeros(len(self.entries), dtype=bool)
        for column, entry in enumerate(self.entries):
            self._add_known(drawn, entry, top[:, column])
            if entry.over_unknown is not None:
                bottom[:, column] = drawn.unknowns[:, entry.over_unknown]
            ratio[column] = bool(entry.over) or entry.over_unknown is not None
        values = np.divide(top, bottom, out=top.copy(), where=ratio & (bottom != 0.0))
        for place, column in enumerate(self._stated):
            value, u = self.entries[column].fixed or (0.0, 0.0)
            values[:, column] = value + u * drawn.stated[:, place]
        for column in self._forces:
            values[:, column] = self._force(drawn.loads, self.entries[column])
        values[:, self._heights] = drawn.heights
        return values / self.factors

    def _add_known(self, drawn: Drawn, entry: CatalogueEntry, top: Array) -> None:
        """Add to a numerator what does not come from a sum of loads at fixed arms."""
        if entry.unknown is not None:
            top[:] = drawn.unknowns[:, entry.unknown]
        for term, factor in entry.known:
            top += factor * (term.value if term.index is None else drawn.unknowns[:, term.index])
        for arm, terms in entry.arms:  # an arm enters as it is: what it is longer than estimated, times its loads
            longer = drawn.unknowns[:, arm] - self._like.base.unknowns[arm]
            top += longer * sum(factor * drawn.loads[:, out] for out, factor in terms.items())

    def _force(self, loads: Array, entry: CatalogueEntry) -> Array:
        """The horizontal force of a coupling [N] by its formula, shape (n,)."""
        name, like = FindingId.parse(entry.id), self._like
        link = like.day.states[name.state].links[int(name.place or 1) - 1]
        layout = like.loads.layout
        index = layout.level[name.state]
        towing, trailer = (loads[:, layout.wheels_out[index][end]].sum(axis=1) for end in (link.towing, link.trailer))
        imposed = loads[:, layout.coupling_out[index][link.trailer]]
        kind = like.day.vehicles[link.towing].couplings[link.at].type
        formula = coupling_force(name.kind, fifth_wheel=kind is CouplingType.FIFTH_WHEEL)
        rows = zip(towing.tolist(), (trailer + imposed).tolist(), imposed.tolist(), strict=True)
        return np.array([formula(towing=one, trailer=two, imposed=part).value for one, two, part in rows])
