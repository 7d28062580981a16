"""Small weigh days written as text, weighed by the product, read back in pounds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from steelyard.conformity import Verdict
from steelyard.dayfile import parse_day
from steelyard.findings import Finding, Findings, weigh

HEAD = 'format = 1\nunits = { mass = "lb", length = "in" }\n[site]\nunevenness = "0 mm"\n'


def pad(name: str, *, division: float = 20.0, capacity: float = 20_000.0, more: str = "") -> str:
    """A pad without span error or repeatability unless ``more`` says so: rounding alone."""
    told = more or 'span_uncertainty = "0 %"\nrepeatability = "0 lb"'
    return f'[instruments.{name}]\nkind = "pad"\ncapacity = "{capacity} lb"\ndivision = "{division} lb"\n{told}\n'


def platform(name: str, *, division: float = 20.0, more: str = "") -> str:
    """The same as a platform."""
    return pad(name, division=division, capacity=100_000.0, more=more).replace('"pad"', '"platform"')


def truck(*places: float, ratings: str = "", more: str = "") -> str:
    """A towing vehicle ``tow`` with axles at ``places`` [in]."""
    axles = "".join(f'[[vehicles.tow.axles]]\nx = "{x} in"\ntrack = "70 in"\n' for x in places)
    return f'[vehicles.tow]\nrole = "towing"\nratings = {{ {ratings} }}\n{axles}{more}'


def trailer(*places: float, equalised: bool = False) -> str:
    """A trailer ``cart`` with axles at ``places`` [in] behind its coupling point."""
    told = 'group = "rear"\nsharing = "equalised"\n' if equalised else ""
    axles = "".join(f'[[vehicles.cart.axles]]\nx = "{x} in"\ntrack = "80 in"\n{told}' for x in places)
    return f'[vehicles.cart]\nrole = "trailer"\n{axles}'


def coupling(x: float, kind: str = "ball") -> str:
    """A coupling ``hook`` on the truck at ``x`` [in]."""
    return f'[vehicles.tow.couplings.hook]\ntype = "{kind}"\nx = "{x} in"\n'


HITCHED = 'vehicles = ["tow", "cart"]\ncouple = { towing = "tow", at = "hook", trailer = "cart" }\n'


def draft(state: str, readings: Mapping[str, tuple[str, float]], more: str = "") -> str:
    """One draft: instrument and pounds by place."""
    told = ", ".join(f'"{place}" = ["{name}", {value}]' for place, (name, value) in readings.items())
    return f'[[drafts]]\nstate = "{state}"\n{more}readings = {{ {told} }}\n'


class Pounds:
    """Findings of a day in pounds and per cent (shares), by id."""

    def __init__(self, *parts: str) -> None:
        self.text = "".join(parts)
        self.findings: Findings = weigh(parse_day(self.text, "day.toml"))

    def _of(self, name: str) -> Finding:
        return self.findings.by_id[name]

    def _shown(self, name: str, value: float | None) -> float:
        assert value is not None, f"{name} is not determined"
        return self.findings.day.units.show(value, self._of(name).dimension)

    def value(self, name: str) -> float:
        """The estimate."""
        return self._shown(name, self._of(name).value)

    def u(self, name: str) -> float:
        """Its standard uncertainty."""
        return self._shown(name, self._of(name).u)

    def interval(self, name: str) -> tuple[float, float]:
        """Its 95 % coverage interval."""
        return self._shown(name, self._of(name).low), self._shown(name, self._of(name).high)

    def verdict(self, name: str) -> Verdict:
        """One verdict by its id."""
        return next(verdict for verdict in self.findings.verdicts if verdict.id == name)

    def margin(self, name: str) -> float:
        """What is left of a rating."""
        verdict = self.verdict(name)
        assert verdict.margin is not None
        return self.findings.day.units.show(verdict.margin, verdict.dimension)

    def known(self) -> Iterable[str]:
        """Ids of everything determined."""
        return [finding.id for finding in self.findings.findings if finding.determined]
