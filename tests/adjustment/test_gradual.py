"""What changed by itself is offered where nobody declared it, and the offer is the true one."""

from __future__ import annotations

import pytest

from steelyard.adjustment.misfit.gradual import plain
from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.questions.findings import findings_data
from steelyard.report.tables.findings import findings_text
from tests.simulated.scenarios import Simulated, simulate

POUND, INCH = 0.45359237, 0.0254
DAYS = 12


def burning(seed: int) -> tuple[Simulated, Findings]:
    """Six drafts over a morning with the engine running, and nothing said of it."""
    simulated = simulate("burning", seed)
    lines = [line for line in simulated.text.splitlines() if not line.startswith("rate = ")]
    return simulated, weigh(parse_day("\n".join(lines), "day.toml"))


def got_out(seed: int) -> tuple[Simulated, Findings]:
    """Five drafts, the driver gone before the fourth, and nothing said of it."""
    simulated = simulate("got_out", seed)
    return simulated, weigh(parse_day(simulated.text.replace('state = "empty"', 'state = "full"'), "day.toml"))


def test_fuel_burnt_is_offered_first() -> None:
    right = 0
    for seed in range(DAYS):
        simulated, found = burning(seed)
        assert not found.consistency.consistent
        best = found.consistency.changes[0]
        truth = 6.5 * simulated.drawn.values["cargo.fuel.rate"]
        right += best.rate is not None and abs(best.amount / POUND - truth) < 45 and abs(best.x / INCH - 140) < 30
        assert best.vehicle == "tow"
        assert best.words.startswith("about 1")
        assert "by draft 6 than in draft 1, 6.5 h before: fuel burnt, water drained, or people?" in best.words
    assert right >= DAYS - 3


def test_a_driver_who_got_out_is_offered_first() -> None:
    for seed in range(DAYS):
        _, found = got_out(seed)
        assert not found.consistency.consistent
        best = found.consistency.changes[0]
        assert (best.rate, best.first, best.last) == (None, 3, 4)
        assert abs(best.amount / POUND + 190) < 45
        assert "from draft 4 on than up to draft 3: did somebody get out?" in best.words


def test_suspects_carry_it_and_so_do_table_and_data() -> None:
    _, found = got_out(0)
    words = found.consistency.changes[0].words
    question = words[: words.index("?") + 1]
    assert found.consistency.suspects
    assert all(question in suspect.explanations for suspect in found.consistency.suspects)
    data = findings_data(found, file="day.toml")["consistency"]["changes"][0]
    assert data["words"] == words
    assert data["amount"] == pytest.approx(-190, abs=45)
    text = findings_text(found)
    flat = " ".join(text.split())
    assert "Something may have changed between the drafts by itself, which explains more than any one slip:" in flat
    assert text.index("[cargo.left]") < text.index("If that is not so, look at these readings:")
    assert "    # in the states of drafts before draft 4; the others want states without it\n    [cargo.left]\n" in text
    assert max(map(len, text.splitlines())) <= 80


def test_what_is_offered_can_be_pasted_and_sets_the_day_right() -> None:
    agreeing = held = 0
    for seed in range(DAYS):
        simulated, found = burning(seed)
        lines = [line for line in simulated.text.splitlines() if not line.startswith("rate = ")]
        text = "\n".join(lines).replace('cargo = ["driver", "fuel"]', 'cargo = ["driver", "fuel", "drained"]')
        change = next(one for one in found.consistency.changes if one.rate is not None)
        again = weigh(parse_day(text + "\n" + change.toml, "day.toml"))
        agreeing += again.consistency.consistent
        one = again.by_id["full/tow/axle/2"]
        assert one.low is not None and one.high is not None  # noqa: PT018
        held += one.low <= simulated.truth["full/tow/axle/2"] * POUND <= one.high
    assert agreeing >= DAYS - 1
    assert held >= DAYS - 3


def test_days_that_agree_are_offered_nothing() -> None:
    for seed in range(DAYS):
        found = weigh(parse_day(simulate("burning", seed).text, "day.toml"))
        if found.consistency.consistent:
            assert found.consistency.changes == ()


def test_one_slip_is_not_taken_for_a_change() -> None:
    """A slip of 300 lb in one reading of a repeat: the reading stays the better explanation."""
    offered = sum(
        bool(weigh(parse_day(simulate("slip_equalised", seed).text, "day.toml")).consistency.changes)
        for seed in range(DAYS)
    )
    assert offered <= 2


def test_a_rate_is_said_among_the_cautions() -> None:
    simulated = simulate("burning", 3)
    found = weigh(parse_day(simulated.text, "day.toml"))
    assert (
        "fuel: reckoned as 143 ± 38 lb less in the last draft than in the first with it aboard, as its rate says; the "
        "findings are for the amount that the file states." in found.cautions
    )


TRAVEL = """format = 1
units = { mass = "lb", length = "in" }
[vehicles.suv]
role = "towing"
axles = [{ x = 0, track = 68, rating = 3600 }, { x = 118, track = 68, rating = 4250 }]
couplings.ball = { type = "ball", x = 164 }
[vehicles.van]
role = "trailer"
axles = [
  { x = 188, track = 76, group = "g", sharing = "equalised" },
  { x = 224, track = 76, group = "g", sharing = "equalised" },
]
[states.alone]
vehicles = ["suv"]
[states.hitched]
vehicles = ["suv", "van"]
couple = { towing = "suv", at = "ball", trailer = "van" }
""" + "".join(
    f'[instruments.p{number}]\nkind = "pad"\ncapacity = 25000\ndivision = 20\nheight = 2.5\n' for number in range(1, 5)
)


def travel(*trailer: tuple[int, ...]) -> Findings:
    """The SUV alone and hitched once, then the travel trailer again and again."""
    drafts = [("alone", "suv", (1440, 1400, 1340, 1380)), ("hitched", "suv", (1240, 1220, 2000, 2020))]
    drafts += [("hitched", "van", values) for values in trailer]
    text = TRAVEL
    for state, vehicle, values in drafts:
        told = ", ".join(
            f'"{vehicle}/{wheel}" = ["p{number}", {value}]'
            for number, (wheel, value) in enumerate(zip(("1L", "1R", "2L", "2R"), values, strict=True), start=1)
        )
        text += f'[[drafts]]\nstate = "{state}"\nreadings = {{ {told} }}\n'
    return weigh(parse_day(text, "day.toml"))


def test_a_change_that_later_drafts_do_not_show_is_not_offered() -> None:
    """Only the trailer is drafted again: nobody could tell that the SUV has changed since."""
    found = travel((1740, 1640, 1720, 1640), (1660, 1580, 1660, 1580), (1660, 1580, 1660, 1580))
    assert not found.consistency.consistent
    assert found.consistency.changes
    assert {change.vehicle for change in found.consistency.changes} == {"van"}
    for change in found.consistency.changes:
        assert abs(change.amount) < 400 * POUND  # the four ends differ by 300 lb in all


def test_a_mass_that_the_rig_could_not_carry_is_not_offered() -> None:
    """Every end of the trailer reads less than half: no load was taken off, the readings are wrong."""
    found = travel((1740, 1640, 1720, 1640), (600, 580, 600, 580), (600, 580, 600, 580))
    assert not found.consistency.consistent
    assert found.consistency.changes == ()


@pytest.mark.parametrize(
    ("value", "figures", "text"),
    [
        (129.6, 2, "130"),
        (1172.0, 3, "1170"),
        (0.00519, 2, "0.0052"),
        (-22.04, 3, "-22"),
        (0.0, 3, "0"),
        (3e5, 2, "300000"),
    ],
)
def test_numbers_to_paste_have_no_exponent(value: float, figures: int, text: str) -> None:
    assert plain(value, figures) == text
