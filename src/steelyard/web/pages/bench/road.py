"""Rules of the road at the bench: what was found by the chosen ones, and everything that can be chosen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from markupsafe import Markup

from steelyard.findings import Findings
from steelyard.model import ChosenRules, RuleSet, WeighDay
from steelyard.questions.rules import all_sets, rules_of
from steelyard.report import pieces
from steelyard.web.pages.bench.contracts import PlaceTicks, RoadPart, SetTick
from steelyard.web.pages.bench.taken import Taken

_PLACES = {
    "AU": "Australia",
    "CA": "Canada",
    "DE": "Germany",
    "EU": "European Union",
    "GB": "Great Britain",
    "US": "United States",
    "": "Anywhere",
}
"""Places by the first part of their code; another one is told by its code."""


def road_part(findings: Findings, chose: Mapping[int, Taken]) -> RoadPart:
    """The part of the page; ``chose``: how the choices came, by their numbers."""
    chosen = findings.day.rules
    return RoadPart(
        found=pieces.rules_words(rules_of(findings)),
        places=tuple(_places(chosen)),
        where=chosen.where,
        use="" if chosen.use is None else chosen.use.value,
        licence="" if chosen.licence is None else ", ".join(chosen.licence) or "none",
        from_memory=chosen.from_memory,
        earlier=tuple(_earlier(findings.day, chose)),
    )


def _places(chosen: ChosenRules) -> Iterator[PlaceTicks]:
    by_place: dict[str, list[RuleSet]] = {}
    for one in all_sets():
        by_place.setdefault(one.place.partition("-")[0], []).append(one)
    names = {one.id for one in chosen.sets}
    for place in sorted(by_place, key=lambda code: (not code, _PLACES.get(code, code))):
        ticks = tuple(SetTick(one.id, one.title, _line(one), one.id in names) for one in by_place[place])
        yield PlaceTicks(_PLACES.get(place, place), ticks)


def _line(one: RuleSet) -> str:
    """``For drivers of a vehicle; not together with us-licence. Checked 2026-11-25.``"""
    beside = f"; not together with {' or '.join(one.excludes)}" if one.excludes else ""
    return f"For {one.applies}{beside}. Checked {one.checked.isoformat()}."


def _earlier(day: WeighDay, chose: Mapping[int, Taken]) -> Iterator[Markup]:
    """Each choice that no longer counts, newest first, with how it came."""
    for number in range(len(day.earlier_rules) - 1, -1, -1):
        came = chose.get(number)
        by = Markup("In the file")
        if came is not None:
            by = Markup("Chosen by {}, received {}").format(came.device or "a script", came.received)
        yield Markup("{}: {}.").format(by, _said(day.earlier_rules[number]))


def _said(chosen: ChosenRules) -> str:
    """``eu-licence, de-stvzo; place DE``."""
    sets = ", ".join(one.id for one in chosen.sets) or "none"
    told = pieces.beside_words(chosen)
    return f"{sets}; {told}" if told else sets
