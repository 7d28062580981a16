"""The load map as rows for a spreadsheet: ``x,y,max_mass,limit`` in the file's units."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from steelyard.loading import LoadMap
from steelyard.units import Dimension, UnitSystem, at_most


def load_map_csv(made: LoadMap, units: UnitSystem) -> Iterator[str]:
    """A row of names, then one row for each place on the floor, front to rear, then right to left.

    ``limit`` is the id of the verdict that binds; where none does, it and the mass are empty. Where readings contradict
    one another a last column, ``contested``, says so in every row.
    """
    mark = ",contested" if made.contested else ""
    yield f"x,y,max_mass,limit{mark}\n"
    mass, length = units.factor(Dimension.MASS), units.factor(Dimension.LENGTH)
    for column, x in enumerate(made.x):
        for row in np.flatnonzero(made.within[:, column]):
            place = int(made.limit[row, column])
            most = f"{at_most(float(made.most[row, column]) / mass):.6g}" if place >= 0 else ""
            name = made.ids[place] if place >= 0 else ""
            yield f"{x / length:.9g},{made.y[row] / length:.9g},{most},{name}{mark}\n"
