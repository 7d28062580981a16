"""Entries for the horizontal forces D and Dc of couplings, where chosen rules of the road limit them.

Such a force is no sum of loads: the entry is its tangent at the loads that were found, which gives value and doubt to
first order (JCGM 100:2008, 5.1.2), the covariance of the loads included. The loads are known to a per cent or better,
where the force curves by no more than the square of that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from steelyard.adjustment import Adjustment, Term
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.result import Basis
from steelyard.model import CouplingType, FindingId, Link
from steelyard.requirements import coupling_force
from steelyard.units import Dimension

_LABELS = {"d": "D of the coupling", "dc": "Dc of the coupling"}


def force_entries(adjustment: Adjustment, wanted: Iterable[FindingId], basis: Basis) -> Iterator[CatalogueEntry]:
    """The entries of those names that are forces of a coupling that is made."""
    for name in wanted:
        if name.of_coupling and name.kind in _LABELS:
            links = adjustment.rig.day.states[name.state].links
            yield _entry(adjustment, name, links[int(name.place or 1) - 1], basis)


def _entry(adjustment: Adjustment, name: FindingId, link: Link, basis: Basis) -> CatalogueEntry:
    day, layout, loads = adjustment.rig.day, adjustment.layout, adjustment.loads.values
    index = layout.level[name.state]
    towing, trailer = (layout.wheels_out[index][vehicle] for vehicle in (link.towing, link.trailer))
    hitch = layout.coupling_out[index][link.trailer]
    imposed = float(loads[hitch])
    masses = float(loads[towing.start : towing.stop].sum()), float(loads[trailer.start : trailer.stop].sum()) + imposed
    terms: Mapping[int, float] = {}
    offset = 0.0
    if min(*masses, masses[1] - imposed) > 0.0:
        kind = day.vehicles[link.towing].couplings[link.at].type
        formula = coupling_force(name.kind, fifth_wheel=kind is CouplingType.FIFTH_WHEEL)
        force = formula(towing=masses[0], trailer=masses[1], imposed=imposed)
        terms = dict.fromkeys(range(towing.start, towing.stop), force.by_towing)
        terms |= dict.fromkeys(range(trailer.start, trailer.stop), force.by_trailer)
        terms[hitch] = force.by_trailer + force.by_imposed
        offset = force.value - sum(factor * float(loads[at]) for at, factor in terms.items())
    known = ((Term(offset), 1.0),) if terms else ()
    label = f"{name.state}: {_LABELS[name.kind]}"
    return CatalogueEntry(str(name), label, Dimension.FORCE, basis, name.state, terms, known=known)
