"""One day from its text to its line of JSON, stage by stage, each beside the whole; the whole beside its floor."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator
from functools import partial

from benchmarks.days import BUNDLED
from benchmarks.measure import Row, side_by_side
from steelyard.adjustment import adjust
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.system.rig import Rig
from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.findings.catalogue import Catalogue
from steelyard.findings.cautions import cautions_of
from steelyard.findings.quantities import Quantities
from steelyard.questions.findings import findings_data
from steelyard.questions.line import findings_line
from steelyard.report.drawings.above.view import above_svg
from steelyard.report.tables.findings import findings_text
from steelyard.requirements import requirements_of

GROUP = "stages"
WHOLE = "text to JSON, one day in one process"
FLOOR = "tomllib and json.dumps of the same"
_FILE = "day.toml"


def rows() -> Iterator[Row]:
    """The stages of the bundled day; those with a dash lie within the one before them."""
    text = BUNDLED.read_text(encoding="utf-8")
    calls = _calls(text)
    took = side_by_side({FLOOR: _floor(text), **calls}, seconds=6.0)
    yield Row(GROUP, WHOLE, took[WHOLE], FLOOR, took[FLOOR])
    for name in list(calls)[1:]:
        yield Row(GROUP, name, took[name], WHOLE, took[WHOLE])


def _floor(text: str) -> Callable[[], object]:
    """Reading and writing the same with nothing in between."""
    answer = findings_data(weigh(parse_day(text, _FILE)), file=_FILE)
    return lambda: (tomllib.loads(text), json.dumps(answer))


def _calls(text: str) -> dict[str, Callable[[], object]]:
    day = parse_day(text, _FILE)
    rig = Rig(day)
    adjustment = adjust(day)
    entries = Catalogue(adjustment).entries()
    quantities = Quantities(adjustment, entries)
    requirements = requirements_of(day)
    findings = weigh(day)

    def whole() -> str:
        return findings_line(weigh(parse_day(text, _FILE)), file=_FILE)

    return {
        WHOLE: whole,
        "file to model": partial(parse_day, text, _FILE),
        "adjustment": partial(adjust, day),
        "- rig and unknowns": partial(Rig, day),
        "- observations": lambda: Observations(rig),
        "- first covariance": lambda: Observations(rig).covariance(None),
        "catalogue of findings": lambda: Catalogue(adjustment).entries(),
        "sums and ratios with their doubt": partial(Quantities, adjustment, entries),
        "findings": quantities.findings,
        "requirements": partial(requirements_of, day),
        "verdicts": partial(quantities.verdicts, requirements),
        "cautions": partial(cautions_of, adjustment, findings.findings),
        "findings to a line of JSON": partial(findings_line, findings, file=_FILE),
        "(not in the whole) findings as data": partial(findings_data, findings, file=_FILE),
        "(not in the whole) tables for a person": partial(findings_text, findings),
        "(not in the whole) plan view as SVG": partial(above_svg, findings, "hitched"),
    }
