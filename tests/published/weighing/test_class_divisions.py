"""How many divisions an instrument of a class has, at each bound from both sides.

Sources: NIST Handbook 44, 2.20, Table 3 (classes II and III seen in a public tolerance procedure that reprints it; I,
III L and IIII from memory); OIML R 76-1:2006, Table 3 (seen as Directive 90/384/EEC, Annex I, whose limits of n are the
same). The rows are those of the tables, with the divisions at which each begins and ends. Exact.
"""

from __future__ import annotations

import pytest

from tests.verification.checks import verified

HANDBOOK, R76 = "handbook44", "r76"
NO_END = 0
TABLE_3 = [
    (HANDBOOK, "I", "0.001 g", 50_000, NO_END),
    (HANDBOOK, "II", "0.001 g", 100, 100_000),
    (HANDBOOK, "II", "0.05 g", 100, 100_000),
    (HANDBOOK, "II", "0.1 g", 5_000, 100_000),
    (HANDBOOK, "II", "5 lb", 5_000, 100_000),
    (HANDBOOK, "III", "0.1 g", 100, 10_000),
    (HANDBOOK, "III", "2 g", 100, 10_000),
    (HANDBOOK, "III", "5 g", 500, 10_000),
    (HANDBOOK, "III", "0.0002 lb", 100, 10_000),
    (HANDBOOK, "III", "0.005 lb", 100, 10_000),
    (HANDBOOK, "III", "0.005 oz", 100, 10_000),
    (HANDBOOK, "III", "0.125 oz", 100, 10_000),
    (HANDBOOK, "III", "0.01 lb", 500, 10_000),
    (HANDBOOK, "III", "0.25 oz", 500, 10_000),
    (HANDBOOK, "III", "20 lb", 500, 10_000),
    (HANDBOOK, "III L", "2 kg", 2_000, 10_000),
    (HANDBOOK, "III L", "5 lb", 2_000, 10_000),
    (HANDBOOK, "IIII", "5 g", 100, 1_200),
    (HANDBOOK, "IIII", "0.01 lb", 100, 1_200),
    (HANDBOOK, "IIII", "0.25 oz", 100, 1_200),
    (HANDBOOK, "IIII", "20 lb", 100, 1_200),
    (R76, "I", "0.001 g", 50_000, NO_END),
    (R76, "II", "0.001 g", 100, 100_000),
    (R76, "II", "0.05 g", 100, 100_000),
    (R76, "II", "0.1 g", 5_000, 100_000),
    (R76, "III", "0.1 g", 100, 10_000),
    (R76, "III", "2 g", 100, 10_000),
    (R76, "III", "5 g", 500, 10_000),
    (R76, "III", "10 kg", 500, 10_000),
    (R76, "IIII", "5 g", 100, 1_000),
    (R76, "IIII", "10 kg", 100, 1_000),
]


def complaints(table: str, grade: str, division: str, count: int) -> list[str]:
    """What is said of the number of divisions of an instrument with this plate."""
    value, unit = division.split()
    phase = "maintenance" if table == HANDBOOK else "in_service"
    head = (
        'format = 1\nkind = "verification"\nunits = { mass = "lb", length = "in" }\n[record]\ndate = 2026-02-20\n'
        f'[tolerances]\ntable = "{table}"\nphase = "{phase}"\n'
    )
    plate = (
        f'[instruments.p1]\nclass = "{grade}"\nkind = "platform"\n'
        f'capacity = "{count * float(value):.10g} {unit}"\ndivision = "{value} {unit}"\n'
    )
    test = f'[[tests]]\nkind = "repeats"\ninstrument = "p1"\nload = "{10 * float(value):.10g} {unit}"\n'
    found = verified(plate, test + "readings = [0, 0, 0]\n", head=head)
    return [text for text in found.cautions if " divisions of " in text]


@pytest.mark.parametrize(("table", "grade", "division", "least", "most"), TABLE_3)
def test_both_ends_of_a_class_are_checked(table: str, grade: str, division: str, least: int, most: int) -> None:
    ends = f"{least:,} to {most:,}" if most else f"{least:,} or more"
    assert complaints(table, grade, division, least) == []
    (few,) = complaints(table, grade, division, least - 1)
    assert few.startswith(f"p1: has {least - 1:,} divisions of ")
    assert f"class {grade} has {ends}." in few
    if most:
        assert complaints(table, grade, division, most) == []
        (many,) = complaints(table, grade, division, most + 1)
        assert few.partition(";")[2] == many.partition(";")[2]
    else:
        assert complaints(table, grade, division, 10 * least) == []
