"""Verdicts, cautions and what goes into a weigh day, from whole verification files."""

from __future__ import annotations

import math

import pytest

from steelyard.conformity import Outcome
from steelyard.dayfile import DayFileError, parse_day, parse_verification, write_instrument
from steelyard.findings import weigh
from steelyard.questions.verified import verification_data
from steelyard.units import UnitSystem
from steelyard.verification import VerificationResult
from tests.verification.checks import HEAD, a_test, judged, masses, pad, verified

POUND = 0.45359237
R76 = HEAD.replace("handbook44", "r76").replace("maintenance", "in_service")
LADDER = "[[0, 0], [5000, {0}], [10000, {1}], [5000, {0}], [0, 0]]"


def pounds(value: float) -> float:
    return value / POUND


# -- one reading against its tolerance ---------------------------------------------------------------------------------


def test_errors_and_tolerances_of_a_ladder() -> None:
    found = judged(masses(LADDER.format(5100, 10220)))
    assert [round(pounds(item.error)) for item in found] == [0, 100, 220, 100, 0]
    assert [round(pounds(item.tolerance)) for item in found] == [40, 120, 200, 120, 40]
    assert [item.outcome for item in found] == [Outcome.WITHIN] * 2 + [Outcome.OUTSIDE] + [Outcome.WITHIN] * 2
    assert [item.what for item in found][:2] == ["0 lb", "5,000 lb, going up"]
    assert found[3].what == "5,000 lb, going down"


def test_an_error_on_the_tolerance_is_within_it() -> None:
    found = judged(masses(LADDER.format(5120, 10200)))
    assert {item.outcome for item in found} == {Outcome.WITHIN}
    assert judged(masses(LADDER.format(5140, 10200)))[1].outcome is Outcome.OUTSIDE


def test_the_probability_is_that_of_the_known_load() -> None:
    """10,000 lb known to 30 lb: an error of 160 lb keeps 200 lb with Phi(40/30)."""
    (item,) = [one for one in judged(masses(LADDER.format(5000, 10160), u="0.3 %")) if pounds(one.load) > 9000]
    assert pounds(item.u) == pytest.approx(30.0)
    assert item.probability == pytest.approx(0.5 * (1 + math.erf(40 / 30 / math.sqrt(2))), abs=1e-6)
    assert item.outcome is Outcome.UNDECIDED
    assert item.reason == "too close to the tolerance for the doubt of the known load"


@pytest.mark.parametrize(("u", "outcome"), [("0.333 %", Outcome.WITHIN), ("0.334 %", Outcome.UNDECIDED)])
def test_a_third_of_the_tolerance_is_the_limit(u: str, outcome: Outcome) -> None:
    """200 lb at 10,000 lb: the known load must be good to 66.7 lb at k = 2, that is 33.3 lb."""
    item = judged(masses(LADDER.format(5000, 10000), u=u))[2]
    assert item.probability > 0.999
    assert item.outcome is outcome


def test_a_test_too_coarse_says_what_it_takes() -> None:
    item = judged(masses(LADDER.format(5000, 10000), u="1 %"))[2]
    assert item.reason == (
        "the test is too coarse: its known load is good to 200 lb (k = 2), and a verdict takes 66.7 lb (NIST Handbook "
        "44, Appendix A, 3.2: a third of the tolerance)"
    )
    far = judged(masses(LADDER.format(5000, 10600), u="1 %"))[2]
    assert far.outcome is Outcome.UNDECIDED
    assert far.reason.endswith("it looks outside: do not use the instrument until a finer test says otherwise")


def test_few_readings_that_scatter_are_not_trusted_in_silence() -> None:
    """Five readings two divisions off a line: a caution; none where they lie on it or the scatter is declared."""
    rough = masses("[[0, 20], [5000, 4940], [10000, 10040], [5000, 5040], [0, -40]]")
    warning = (
        "p1: it scatters by about a division and was read only 5 times: its intervals may be too narrow; repeat the "
        "loads until there are 12 readings or more, or declare its repeatability."
    )
    assert warning in verified(pad("p1"), rough).cautions
    assert warning not in verified(pad("p1", 'repeatability = "30 lb"'), rough).cautions
    assert warning not in verified(pad("p1"), masses(LADDER.format(5000, 10000))).cautions


def test_a_coarse_test_condemns_nothing_but_warns() -> None:
    """600 lb off with a known load good to 100 lb: no verdict, and a caution before all others; 0 lb off: none."""
    warning = (
        "p1 looks outside tolerance, by a test too coarse to condemn: weigh nothing that matters on it until a finer "
        "test says otherwise."
    )
    assert verified(pad("p1"), masses(LADDER.format(5000, 10600), u="1 %")).cautions[0] == warning
    assert warning not in verified(pad("p1"), masses(LADDER.format(5000, 10000), u="1 %")).cautions


def test_r76_judges_the_error_before_rounding() -> None:
    """In service 2 e at 100 e: shown right, the error before rounding is within half a division, so within."""
    found = judged(masses("[[0, 0], [2000, 2000], [2100, 2140]]"), head=R76)
    assert [item.probability for item in found] == pytest.approx([1.0, 1.0, 0.5])
    assert found[2].reason == "the division rounds away what would decide it: seek the change point with small weights"


def test_r76_takes_the_zero_off_where_change_points_show_it() -> None:
    """P = I + 10 lb - dL: at zero 0 + 10 - 4 = 6 lb; at 2,000 lb 2,000 + 10 - 2 = 2,008 lb, so 8 - 6 = 2 lb."""
    found = judged(masses("[[0, 0, 4], [2000, 2000, 2], [5000, 5000, 12]]", small_weight='"2 lb"'), head=R76)
    assert [round(pounds(item.error), 6) for item in found] == [6.0, 2.0, -8.0]
    plain = judged(masses("[[0, 0, 4], [2000, 2000, 2], [5000, 5000, 12]]", small_weight='"2 lb"'))
    assert [round(pounds(item.error), 6) for item in plain] == [6.0, 8.0, -2.0]


def test_repeats_eccentric_and_zero_return() -> None:
    found = judged(
        a_test("repeats", instrument='"p1"', load='"5000 lb"', readings="[5000, 5060, 4920]"),
        a_test(
            "eccentric", instrument='"p1"', load='"5000 lb"', readings="{ centre = 5100, front = 5240, rear = 5060 }"
        ),
        a_test(
            "eccentric",
            instrument='"p1"',
            load='"5000 lb"',
            mass_uncertainty='"0 %"',
            readings="{ centre = 5100, front = 5240 }",
        ),
        a_test("zero_return", instrument='"p1"', load='"5000 lb"', before="0", after="-60"),
    )
    assert [(item.kind, round(pounds(item.error)), round(pounds(item.tolerance))) for item in found] == [
        ("repeats", 140, 120),
        ("eccentric", 140, 120),
        ("eccentric", -40, 120),
        ("eccentric", 100, 120),
        ("eccentric", 240, 120),
        ("zero_return", -60, 40),
    ]
    assert [item.outcome.value for item in found] == ["outside", "outside", "within", "within", "outside", "outside"]
    assert found[1].what == "front, against centre"


# -- the instrument ----------------------------------------------------------------------------------------------------


def test_an_instrument_is_as_good_as_its_worst_reading() -> None:
    found = verified(pad("p1"), masses(LADDER.format(5000, 10220))).instruments["p1"]
    assert found.outcome is Outcome.OUTSIDE
    assert found.probability == 0.0
    assert verified(pad("p1"), masses(LADDER.format(5000, 10000))).instruments["p1"].outcome is Outcome.WITHIN


def test_the_doubt_of_shared_masses_enters_the_span_once() -> None:
    """0.2 % of the masses beside what the readings leave: the span's u grows as the root of the squares."""
    plain, doubtful = (
        verified(pad("p1"), masses(LADDER.format(5000, 10000), u=u)).instruments["p1"].span for u in ("0 %", "0.2 %")
    )
    assert plain is not None
    assert doubtful is not None
    assert doubtful.u == pytest.approx(math.hypot(plain.u, 0.002), rel=1e-6)


def test_a_reference_scale_has_doubts_of_two_kinds() -> None:
    readings = "[[0, 0], [4130, 4120], [8210, 8220], [2090, 2080]]"
    plain, own, shared = (
        verified(
            pad("p1"), a_test("reference", instrument='"p1"', readings=readings, reference_uncertainty=u, **more)
        ).instruments["p1"]
        for u, more in (
            ('"0 lb"', {}),
            ('"30 lb"', {}),
            ('"0 lb"', {"reference_span_uncertainty": '"0.3 %"'}),
        )
    )
    assert plain.span is not None
    assert own.span is not None
    assert shared.span is not None
    assert plain.basis == "a reference scale"
    assert own.span.u > 1.5 * plain.span.u
    assert shared.span.u == pytest.approx(math.hypot(plain.span.u, 0.003), rel=1e-6)


ROUND = a_test("round", readings="{ p1 = [5000, 5000], p2 = [5040, 5040], p3 = [4960, 4960] }")


def test_without_a_known_load_only_differences_are_told() -> None:
    result = verified(pad("p1"), pad("p2"), pad("p3"), ROUND)
    for item in result.instruments.values():
        assert item.span is None
        assert item.relative is not None
        assert item.outcome is None
        assert item.basis == (
            "only its difference from the rest of the set was tested; the span that all share takes a known load"
        )
    second = result.instruments["p2"].relative
    assert second is not None
    assert second.value == pytest.approx(40 / 5000, rel=0.02)
    assert result.cautions[0] == (
        "No known load tied the compared instruments to the kilogram: only their differences are determined. If all "
        "read high together, nothing here shows it."
    )


def test_what_they_share_stays_in_doubt_on_the_weigh_day() -> None:
    """Only differences known: each is corrected by its own, and a set keeps the 1 % / sqrt(3) that nobody checked."""
    result = verified(pad("p1"), pad("p2"), pad("p3"), ROUND)
    kept = result.instruments["p2"].updated
    assert kept.span == pytest.approx(0.008, rel=0.02)
    assert kept.set == "compared-2026-02-20"
    assert kept.set_uncertainty == pytest.approx(0.01 / math.sqrt(3), rel=1e-3)


def test_a_known_pad_makes_the_others_known() -> None:
    result = verified(pad("p1"), pad("p2"), pad("p3"), masses(LADDER.format(5000, 10000)), ROUND)
    third = result.instruments["p3"]
    assert third.relative is None
    assert third.span is not None
    assert third.span.value == pytest.approx(-40 / 5000, abs=0.001)
    assert third.basis == "comparison with instruments that carried a known load"
    assert third.updated.set is None


def test_pads_tried_with_the_same_masses_share_their_doubt() -> None:
    two = [masses(LADDER.format(5000, 10000), instrument=name, u="0.05 %") for name in ("p1", "p2")]
    result = verified(pad("p1"), pad("p2"), *two)
    kept = [item.updated for item in result.instruments.values()]
    assert [item.set for item in kept] == ["verified-2026-02-20"] * 2
    assert [item.set_uncertainty for item in kept] == [0.0005] * 2
    alone = verified(pad("p1"), two[0]).instruments["p1"].updated
    assert alone.set is None
    assert alone.span_uncertainty == pytest.approx(math.hypot(kept[0].span_uncertainty or 0.0, 0.0005), rel=1e-2)


def by_standard(name: str = "M-1", u: str = "0.05 %", instrument: str = "p1") -> str:
    return masses(LADDER.format(5000, 10000), instrument=instrument, u=u, standard=f'"{name}"')


def test_masses_with_a_name_are_shared_by_that_name_and_not_by_a_set() -> None:
    """The root of the squares of both parts is what the span had as a whole; a later day's pads share the name."""
    both = verified(pad("p1"), pad("p2"), by_standard(), by_standard(instrument="p2"))
    later = verified(pad("p9"), by_standard(instrument="p9"), head=HEAD.replace("2026-02-20", "2026-08-01"))
    kept = [item.updated for result in (both, later) for item in result.instruments.values()]
    assert [(item.standard, item.standard_uncertainty) for item in kept] == [("M-1", pytest.approx(0.0005))] * 3
    assert [(item.set, item.set_uncertainty) for item in kept] == [(None, 0.0)] * 3
    for item in (*both.instruments.values(), *later.instruments.values()):
        assert item.span is not None
        own = item.updated.span_uncertainty or 0.0
        assert math.hypot(own, 0.0005) == pytest.approx(item.span.u, rel=1e-2)
        assert item.basis == "known masses M-1"
    data = verification_data(later, file="x")["instruments"][0]
    assert (data["standard"], data["standard_uncertainty"]) == ("M-1", pytest.approx(0.05))


def test_what_was_compared_with_a_known_pad_has_the_error_of_its_masses_too() -> None:
    parts = (pad("p1"), pad("p2"), pad("p3"), ROUND)
    named = verified(*parts, by_standard(u="0.5 %")).instruments
    unnamed = verified(*parts, masses(LADDER.format(5000, 10000), u="0.5 %")).instruments
    for name in ("p2", "p3"):
        kept, whole = named[name].updated, unnamed[name].updated.span_uncertainty
        assert (kept.standard, kept.standard_uncertainty, kept.set) == ("M-1", pytest.approx(0.005), None)
        assert kept.span_uncertainty is not None
        assert math.hypot(kept.span_uncertainty, 0.005) == pytest.approx(whole, rel=1e-2)
        assert kept.span_uncertainty < 0.5 * (whole or 0.0)


def test_two_standards_are_no_standard_of_what_is_compared_with_both() -> None:
    parts = (pad("p1"), pad("p2"), pad("p3"), ROUND, by_standard("M-1"), by_standard("M-2", instrument="p2"))
    found = verified(*parts).instruments
    assert [found[name].updated.standard for name in ("p1", "p2", "p3")] == ["M-1", "M-2", None]


def test_an_earlier_standard_does_not_outlive_a_new_verification() -> None:
    earlier = 'standard = "OLD"\nstandard_uncertainty = "0.2 %"\nset = "case"'
    for tests in ([masses(LADDER.format(5000, 10000))], [ROUND], [by_standard()]):
        kept = verified(pad("p1", earlier), pad("p2"), pad("p3"), *tests).instruments["p1"].updated
        assert kept.standard != "OLD"
        assert kept.standard_uncertainty in (0.0, pytest.approx(0.0005))


def test_a_standard_has_one_uncertainty() -> None:
    with pytest.raises(DayFileError) as caught:
        verified(pad("p1"), pad("p2"), by_standard(), by_standard(instrument="p2", u="0.06 %"))
    (line,) = caught.value.lines()
    assert "tests[2].mass_uncertainty" in line
    assert line.endswith("differs from that of 'M-1' in test 1; a standard has one uncertainty")


def test_what_verify_writes_shares_one_unknown_on_a_weigh_day() -> None:
    """Two pads, each verified on a day of its own with the same masses: their doubt does not shrink as of two."""
    days = [
        verified(pad(name), by_standard(u="0.5 %", instrument=name), head=HEAD.replace("-02-20", f"-02-{day}"))
        for name, day in (("p1", 20), ("p2", 21))
    ]
    blocks = "".join(
        write_instrument(item.instruments[name].updated, UnitSystem())
        for item, name in zip(days, ("p1", "p2"), strict=True)
    )
    rest = """[vehicles.t]
role = "towing"
axles = [{ x = 0, track = 60 }, { x = 150, track = 60 }]
[states.s]
vehicles = ["t"]
[[drafts]]
state = "s"
readings = { "t/1L" = ["p1", 3000], "t/1R" = ["p2", 3000] }
"""
    day = f"format = 1\n{blocks}{rest}"
    axle = weigh(parse_day(day, "day.toml")).by_id["s/t/axle/1"]
    assert axle.u is not None
    assert pounds(axle.u) > 0.005 * 6000


def test_nothing_tested_changes_nothing() -> None:
    result = verified(pad("p1"), pad("p2"), masses(LADDER.format(5000, 10000)))
    second = result.instruments["p2"]
    assert second.updated == second.instrument
    assert second.basis == "no known load was put on it"
    assert [item.instrument.id for item in result.tested] == ["p1"]


def test_a_stated_repeatability_weighs_more_than_the_usual_one() -> None:
    """Three readings say little of the scatter; with 2 lb stated, the span is known better than with the usual 6 lb."""
    few = masses("[[0, 0], [5000, 5000], [10000, 10000]]")
    usual, stated = (verified(pad("p1", more), few).instruments["p1"].span for more in ("", 'repeatability = "2 lb"'))
    assert usual is not None
    assert stated is not None
    assert stated.u < 0.9 * usual.u


# -- cautions ----------------------------------------------------------------------------------------------------------


def cautions(*parts: str, head: str = HEAD) -> list[str]:
    return [text for text in verified(*parts, head=head).cautions if not text.startswith("Where this was done")]


def test_a_failed_pad_is_said_first() -> None:
    found = cautions(pad("p1"), masses(LADDER.format(5000, 10220)))
    assert found[0] == (
        "p1 failed: weigh nothing that matters on it until put right and verified again. A correction of the span "
        "makes a reading better; it does not make the instrument lawful."
    )


def test_loads_far_below_the_capacity_are_said() -> None:
    found = cautions(pad("p1"), masses("[[0, 0], [2000, 2000], [5000, 5000]]"))
    assert found == ["p1: the largest known load is 25 % of its capacity; nothing here speaks for heavier loads."]
    assert cautions(pad("p1"), masses(LADDER.format(5000, 10000))) == []


def test_a_pad_that_sticks_is_said() -> None:
    found = cautions(pad("p1"), masses("[[0, 0], [5000, 4900], [10000, 10000], [5000, 5060], [0, 0]]"))
    assert found[-1:] == [
        (
            "p1: 5,000 lb showed 160 lb more going down than going up: it sticks, or its zero moved. A straight line "
            "does not describe it."
        )
    ]


def test_a_span_too_far_off_is_said() -> None:
    found = cautions(pad("p1"), masses(LADDER.format(5300, 10600)))
    assert any("more than wear: look for a wrong unit, a wrong mass or damage" in text for text in found)


def test_a_plate_that_its_class_does_not_allow_is_said() -> None:
    plate = pad("p1").replace('"20 lb"', '"10 lb"')
    found = cautions(plate, masses(LADDER.format(5000, 10000)))
    assert found == [
        (
            "p1: has 2,000 divisions of 10 lb; with such divisions class IIII has 100 to 1,200. Check class, capacity "
            "and division on its plate."
        )
    ]


def test_gravity_is_asked_for() -> None:
    result = verified(
        pad("p1"),
        a_test(
            "reference",
            instrument='"p1"',
            readings="[[0, 0], [5000, 5000], [12000, 12000]]",
            reference_uncertainty='"2 lb"',
        ),
    )
    assert [text.split(":")[0] for text in result.cautions] == ["Where this was done is not given", "test 1"]


# -- into the weigh day ------------------------------------------------------------------------------------------------


def round_trip(result: VerificationResult) -> str:
    return "\n".join(write_instrument(item.updated, UnitSystem()) for item in result.tested)


def test_what_was_found_corrects_the_weigh_day() -> None:
    """p1 shows 1 % too much at every load; a wheel of 5,000 lb on it then counts 4,950 lb, give or take its doubt."""
    result = verified(pad("p1"), masses("[[0, 0], [4000, 4040], [10000, 10100], [16000, 16160], [0, 0]]"))
    pads = round_trip(result) + "".join(
        f'[instruments.q{k}]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "20 lb"\nspan_uncertainty = "0 %"\n'
        for k in (2, 3, 4)
    )
    axles = "".join(f'[[vehicles.tow.axles]]\nx = "{x} in"\ntrack = "70 in"\n' for x in (0, 140))
    readings = '{ "tow/1L" = ["p1", 5000], "tow/1R" = ["q2", 5000], "tow/2L" = ["q3", 5000], "tow/2R" = ["q4", 5000] }'
    day = parse_day(
        f'format = 1\n{pads}[vehicles.tow]\nrole = "towing"\n{axles}[states.full]\nvehicles = ["tow"]\n'
        f'[[drafts]]\nstate = "full"\nreadings = {readings}\n',
        "day.toml",
    )
    gross = weigh(day).by_id["full/tow/gross"].value
    assert gross is not None
    assert pounds(gross) == pytest.approx(15_000 + 5000 / 1.01, abs=6.0)
    assert day.instruments["p1"].due is None


def test_the_place_goes_with_the_instrument() -> None:
    text = HEAD.replace("[record]", '[place]\nlatitude = "44.1 deg"\nelevation = "210 m"\n[record]\ndue = 2027-02-20')
    result = verified(pad("p1"), masses(LADDER.format(5000, 10000)), head=text)
    written = round_trip(result)
    for line in (
        'verified_latitude = "44.1 deg"',
        'verified_elevation = "210 m"',
        "verified = 2026-02-20",
        "due = 2027-02-20",
    ):
        assert line in written.splitlines()


# -- as data -----------------------------------------------------------------------------------------------------------


def test_the_data_say_what_is_not_determined() -> None:
    result = verified(pad("p1"), pad("p2"), masses(LADDER.format(5000, 10020)))
    data = verification_data(result, file="check.toml")
    first, second = data["instruments"]
    assert first["span"]["determined"] is True
    assert 0.0 < first["span"]["value"] < 0.3
    assert first["span"]["unit"] == "%"
    assert second["span"] == {
        "value": None, "u": None, "low": None, "high": None, "unit": "%", "determined": False,
    }  # fmt: skip
    assert second["verdict"] is None
    assert [item["tolerance"] for item in data["judgements"]] == pytest.approx([40, 120, 200, 120, 40])
    assert {item["verdict"] for item in data["judgements"]} == {"within"}


def test_the_same_file_gives_the_same_figures() -> None:
    parts = (pad("p1"), pad("p2"), masses(LADDER.format(5000, 10020)))
    assert verified(*parts) == verified(*parts)


def test_units_change_the_words_and_not_the_verdicts() -> None:
    text = HEAD.replace('mass = "lb"', 'mass = "kg"') + pad("p1").replace("lb", "kg")
    result = verified(head=text + masses(LADDER.format(5000, 10220)))
    assert [item.outcome.value for item in result.judgements] == ["within", "within", "outside", "within", "within"]
    assert result.judgements[2].what == "10,000 kg, going up"
    assert parse_verification(text + masses(LADDER.format(5000, 10220)), "x").units.mass == "kg"
