"""Cautions beside the results of a verification, so that nobody is misled or hurt."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from steelyard.conformity import Outcome
from steelyard.model import LoadTest, RepeatTest, Verification
from steelyard.units import Dimension, format_number
from steelyard.verification.judge import change_point
from steelyard.verification.relative import Comparison
from steelyard.verification.result import Judgement, Verified
from steelyard.verification.tolerances import divisions_of, tolerance_of

STANDING = (
    (
        "This is no legal verification: only a licensed or registered person may seal an instrument or put it into "
        "service for trade or for the law, and the current text of the law stands above the tables here."
    ),
    (
        "Test weights crush and topple: lift them with what is made for it, keep hands and feet from under them, stack "
        "none that is not made to be stacked, and never load an instrument beyond its capacity."
    ),
    "Chock a vehicle that stands on instruments; nobody stands between or under vehicles while they are moved.",
)
"""Cautions that go with every verification."""

_LOWEST_TOP = 0.5  # of the capacity: common practice, no source
_WIDE, _MANY = 0.7, 12
# in simulations an undeclared scatter of a division leaves 88 to 93 % of the intervals from six readings holding


def cautions_of(
    verification: Verification,
    instruments: Mapping[str, Verified],
    judgements: Sequence[Judgement],
    compared: Comparison | None,
) -> tuple[str, ...]:
    """The cautions that this verification calls for, in order of weight."""
    return (
        *_outside(instruments),
        *_looks_outside(judgements),
        *_suspicious(instruments),
        *_scattered(verification, instruments),
        *_reach(verification, judgements),
        *_hysteresis(verification),
        *_against_one_another(compared),
        *_divisions(verification),
        *_gravity(verification),
    )


def _outside(instruments: Mapping[str, Verified]) -> Iterator[str]:
    names = [name for name, item in instruments.items() if item.outcome is Outcome.OUTSIDE]
    if names:
        yield (
            f"{_listed(names)} failed: weigh nothing that matters on {'it' if len(names) == 1 else 'them'} until put "
            "right and verified again. A correction of the span makes a reading better; it does not make the "
            "instrument lawful."
        )


def _looks_outside(judgements: Sequence[Judgement]) -> Iterator[str]:
    """Undecided only because the test is too coarse to condemn anything, and yet very likely outside."""
    undecided = [one for one in judgements if one.outcome is Outcome.UNDECIDED and one.probability <= 0.05]
    names = list(dict.fromkeys(one.instrument for one in undecided))
    if names:
        yield (
            f"{_listed(names)} {'looks' if len(names) == 1 else 'look'} outside tolerance, by a test too coarse to "
            f"condemn: weigh nothing that matters on {'it' if len(names) == 1 else 'them'} until a finer test says "
            "otherwise."
        )


def _suspicious(instruments: Mapping[str, Verified]) -> Iterator[str]:
    for name, item in instruments.items():
        if item.span is not None and abs(item.span.value) > 0.03:
            yield (
                f"{name}: a span error of {item.span.value * 100.0:.1f} % is more than wear: look for a wrong unit, a "
                "wrong mass or damage before anybody corrects by it."
            )


def _scattered(verification: Verification, instruments: Mapping[str, Verified]) -> Iterator[str]:
    """Few readings that scatter by a division which nobody declared: the intervals are then a little too narrow."""
    for name, item in instruments.items():
        if item.span is None or item.scatter is None or item.instrument.repeatability is not None:
            continue
        tests = [test for _, test in verification.tests_of(name)]
        count = sum(len(test.steps) for test in tests if isinstance(test, LoadTest))
        count += sum(len(test.readings) for test in tests if isinstance(test, RepeatTest))
        if count < _MANY and item.scatter.value > _WIDE * item.instrument.division:
            yield (
                f"{name}: it scatters by about a division and was read only {count} times: its intervals may be too "
                f"narrow; repeat the loads until there are {_MANY} readings or more, or declare its repeatability."
            )


def _reach(verification: Verification, judgements: Sequence[Judgement]) -> Iterator[str]:
    """Instruments whose known loads stay far below their capacity."""
    for name, instrument in verification.instruments.items():
        loads = [item.load for item in judgements if item.instrument == name and item.kind in ("masses", "reference")]
        if loads and max(loads) < _LOWEST_TOP * instrument.capacity:
            share = 100.0 * max(loads) / instrument.capacity
            yield (
                f"{name}: the largest known load is {share:.0f} % of its capacity; nothing here speaks for heavier "
                "loads."
            )


def _hysteresis(verification: Verification) -> Iterator[str]:
    """Where the same load showed otherwise going down than going up, by more than the tolerance."""
    for name, instrument in verification.instruments.items():
        worst, at = 0.0, 0.0
        for _, test in verification.tests_of(name):
            if not isinstance(test, LoadTest) or test.by_reference:
                continue
            up: dict[float, float] = {}
            for step in test.steps:
                felt = change_point(step, instrument.division)
                if step.load in up and abs(felt - up[step.load]) > abs(worst):
                    worst, at = felt - up[step.load], step.load
                up.setdefault(step.load, felt)
        if abs(worst) > tolerance_of(verification.phase, verification.classes[name], instrument, at):
            units = verification.units
            shown, load = (format_number(units.show(value, Dimension.MASS)) for value in (abs(worst), at))
            yield (
                f"{name}: {load} {units.mass} showed {shown} {units.mass} {'more' if worst > 0 else 'less'} going down "
                "than going up: it sticks, or its zero moved. A straight line does not describe it."
            )


def _against_one_another(compared: Comparison | None) -> Iterator[str]:
    if compared is None:
        return
    if not compared.anchored:
        yield (
            "No known load tied the compared instruments to the kilogram: only their differences are determined. If "
            "all read high together, nothing here shows it."
        )
    loose = [name for name, item in compared.spans.items() if item is None]
    if loose:
        yield f"{_listed(loose)}: nothing ties {'it' if len(loose) == 1 else 'them'} to the others; exchange places."
    if compared.spread > 3.0:
        yield (
            f"The compared readings depart from one another {compared.spread:.1f} times as much as rounding and "
            "scatter explain: the load moved or was not placed alike. The intervals are widened for it."
        )


def _divisions(verification: Verification) -> Iterator[str]:
    for name, instrument in verification.instruments.items():
        grade = verification.classes[name]
        bounds = divisions_of(verification.table, grade, instrument.division)
        count = math.floor(instrument.capacity / instrument.division + 1e-6)
        if bounds is not None and not bounds[0] <= count <= bounds[1]:
            most = f"to {format_number(bounds[1])}" if math.isfinite(bounds[1]) else "or more"
            division = verification.units.show(instrument.division, Dimension.MASS)
            yield (
                f"{name}: has {format_number(count)} divisions of {division:.6g} {verification.units.mass}; with such "
                f"divisions class {grade.value} has {format_number(bounds[0])} {most}. Check class, capacity and "
                "division on its plate."
            )


def _gravity(verification: Verification) -> Iterator[str]:
    if verification.place.latitude is None:
        yield (
            "Where this was done is not given: a span found here is not right elsewhere by up to 0.5 % between pole "
            "and equator. State the latitude of the place."
        )
    for number, test in enumerate(verification.tests, 1):
        if isinstance(test, LoadTest) and test.by_reference and test.reference_latitude is None:
            yield (
                f"test {number}: where the reference scale was verified is not given, so gravity is not corrected for: "
                "it was taken to be verified where it stands."
            )


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)
