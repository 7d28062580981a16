"""The whole text of a weigh day, as a person reads it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from scipy import stats

from steelyard.adjustment import Consistency
from steelyard.conformity import Outcome
from steelyard.dayfile import parse_day
from steelyard.findings import STANDING, Basis, Finding, Findings, weigh
from steelyard.model import Cargo, State, WeighDay
from steelyard.report.tables.agreement import how_rare
from steelyard.report.tables.findings import findings_text, in_states
from steelyard.report.tables.moves import pairs
from steelyard.units import Dimension, UnitSystem
from tests.report.tables_sample import CAUTIONS, LORRY, POUND, sample_day, sample_findings
from tests.simulated.scenarios import simulate


def section(text: str, heading: str) -> str:
    """The lines under one heading, up to the next, without the blank lines around them."""
    _, _, after = text.partition(f"── {heading} ─")
    assert after, f"no section {heading!r}"
    body = after.partition("\n")[2]
    return body.partition("\n\n── ")[0].strip("\n")


def test_the_head_names_the_day_and_says_it_all_in_one_sentence() -> None:
    assert findings_text(sample_findings()).splitlines()[:7] == [
        "Alder Fork, mill move",
        "2026-04-18; weighed by R. Quill; for Alder Fork Timber; upper landing, packed",
        "gravel",
        "",
        "In short: of 8 limits 2 outside (loaded: lorry axle 2 rating; loaded: lorry",
        "wheel 2L rating), 1 undecided (loaded: mill GVWR), 4 within, 1 not judged;",
        "1 reading to look at again.",
    ]


def test_of_many_troubles_the_head_gives_the_number_alone() -> None:
    result = sample_findings()
    outside = result.verdicts[5]
    many = tuple(replace(outside, id=f"{outside.id}{number}") for number in range(4))
    assert "\nIn short: of 4 limits 4 outside; 1 reading to look at again.\n" in findings_text(
        replace(result, verdicts=many)
    )


def test_the_rig_is_described() -> None:
    assert section(findings_text(sample_findings()), "the rig").splitlines()[:6] == [
        "lorry: Flat-bed lorry, towing vehicle, 2 axles 165 in apart, GVWR 19,500 lb,",
        "  GCWR 32,000 lb, payload 8,600 lb",
        "  pintle hook, 236 in behind axle 1",
        "mill: Portable saw mill, trailer, 2 axles (equalised) 172 and 206 in behind its",
        "  coupling point, GVWR 10,400 lb",
        "Weighed on pads p1, p2, p3 and p4 (division 20 lb).",
    ]


def test_a_state_is_one_table_over_its_vehicles() -> None:
    assert section(findings_text(sample_findings()), "hitched") == (
        "mill coupled to lorry at hook; aboard: sawyer (185 lb)\n"
        "\n"
        "lb                left       right         both     95 % interval\n"
        "lorry: Flat-bed lorry\n"
        "  axle 1    2,643 ± 28  2,685 ± 28   5,328 ± 33   5,295 to  5,361\n"
        "  axle 2    3,336 ± 28  3,341 ± 28   6,677 ± 33   6,644 to  6,710\n"
        "  gross     5,979 ± 34  6,026 ± 34  12,005 ± 36  11,969 to 12,041\n"
        "\n"
        "mill: Portable saw mill\n"
        "  axle 1    1,846 ± 28  1,893 ± 28   3,739 ± 33   3,706 to  3,773\n"
        "  axle 2    1,856 ± 28  1,859 ± 28   3,715 ± 33   3,682 to  3,748\n"
        "  axles     3,702 ± 34  3,752 ± 34   7,454 ± 38   7,416 to  7,493\n"
        "  coupling                           1,182 ± 45   1,136 to  1,227\n"
        "  gross                              8,636 ± 36   8,600 to  8,672\n"
        "\n"
        "All wheels of the combination: 19,459 ± 53 lb, 95 % interval 19,406 to 19,512.\n"
        "lorry: 53.77 ± 0.31 % of its load on axle 1; centre of gravity 76.31 ± 0.50 in\n"
        "  behind axle 1 and 0.18 ± 0.23 in right of the centreline.\n"
        "mill: 13.69 ± 0.46 % of its gross on the coupling; centre of gravity\n"
        "  163.2 ± 1.9 in behind its coupling point.\n"
        "\n"
        "What is left, lb                           95 % interval  met with\n"
        "  lorry payload    no rating in the file\n"
        "  lorry coupling   no rating in the file\n"
        "  lorry axle 1, least of what\n"
        "    is determined             1,672 ± 33  1,639 to 1,705  > 99.9 %"
    )


def test_a_parked_trailer_rests_on_its_stand() -> None:
    result = sample_findings()
    parked = State("hitched", ("mill",))
    day = replace(result.day, states={"hitched": parked})
    lines = section(findings_text(replace(result, day=day)), "hitched").splitlines()
    assert "  stand                           1,182 ± 45  1,136 to 1,227" in lines
    assert any(line.startswith("mill: 13.69 ± 0.46 % of its gross on the stand; ") for line in lines)


def test_a_state_that_tips_over_has_no_numbers() -> None:
    result = sample_findings()
    items = tuple(item for item in result.findings if not item.id.startswith("loaded/"))
    text = findings_text(replace(result, findings=items))
    assert section(text, "loaded") == "What it stands on does not hold it up; see the cautions."


@pytest.mark.parametrize(
    ("state", "note"),
    [("solo", "measured in 1 draft"), ("hitched", "measured in 2 drafts"), ("loaded", "predicted, no draft")],
)
def test_a_state_says_whether_it_was_measured(state: str, note: str) -> None:
    line = next(line for line in findings_text(sample_findings()).splitlines() if line.startswith(f"── {state} ─"))
    assert line.endswith(f"─ {note}")


def test_weight_distribution_and_unknown_cargo_are_said() -> None:
    assert section(findings_text(sample_findings()), "loaded").splitlines()[:2] == [
        "mill coupled to lorry at hook, weight distribution on; aboard: sawyer (185 lb)",
        "and log stack (unknown)",
    ]


def test_a_transfer_shows_before_after_and_the_change_with_its_doubt() -> None:
    assert section(findings_text(sample_findings()), "from solo to hitched") == (
        "lb            before   after       change     95 % interval\n"
        "lorry\n"
        "  axle 1       5,821   5,328    −493 ± 33    −526 to   −460\n"
        "  axle 2       5,003   6,677  +1,674 ± 33  +1,641 to +1,707\n"
        "  left side    5,403   5,979    +576 ± 34    +542 to   +610\n"
        "  right side   5,420   6,026    +605 ± 34    +571 to   +639\n"
        "  gross       10,823  12,005  +1,181 ± 36  +1,146 to +1,217"
    )


def test_the_coupling_moves_too() -> None:
    last = section(findings_text(sample_findings()), "from hitched to loaded").splitlines()[-1]
    assert last == "mill coupling   1,182   1,102     −80 ± 45    −125 to    −35"


@pytest.mark.parametrize(("percent", "verb"), [(-8.34, "lost"), (8.34, "gained")])
def test_the_front_axle_says_what_it_lost_or_gained(percent: float, verb: str) -> None:
    result = sample_findings()
    value = percent / 100.0
    change = Finding(
        "solo>hitched/lorry/front_change",
        "",
        Dimension.SHARE,
        Basis.MEASURED,
        value,
        0.0023,
        value - 0.005,
        value + 0.005,
    )
    lines = section(
        findings_text(replace(result, findings=(*result.findings, change))), "from solo to hitched"
    ).splitlines()
    assert lines[-1] == f"lorry: its front axle {verb} 8.34 ± 0.50 % of its load before."


def test_what_cannot_change_has_no_doubt() -> None:
    result = sample_findings()
    sure = {"hitched>loaded/mill/gross": {"value": 2e-13, "u": 4e-14, "low": 1e-13, "high": 3e-13}}
    items = tuple(replace(item, **sure.get(item.id, {})) for item in result.findings)
    lines = section(findings_text(replace(result, findings=items)), "from hitched to loaded").splitlines()
    assert "  gross         8,636   8,636       0" in lines


def _day(*states: State) -> WeighDay:
    return replace(sample_day(), states={state.id: state for state in states})


def test_the_pairs_are_neighbours_and_what_hitching_did() -> None:
    assert pairs(sample_day()) == (("solo", "hitched"), ("hitched", "loaded"), ("solo", "loaded"))


def test_neighbours_are_counted_for_each_vehicle() -> None:
    parked = State("parked", ("mill",))
    links = sample_day().states["hitched"].links
    day = _day(State("solo", ("lorry",)), parked, State("hitched", ("lorry", "mill"), links=links))
    assert pairs(day) == (("parked", "hitched"), ("solo", "hitched"))


def test_of_many_states_only_neighbours_are_shown() -> None:
    links = sample_day().states["hitched"].links
    coupled = [State(f"h{number}", ("lorry", "mill"), links=links) for number in range(5)]
    names = ["solo", *(state.id for state in coupled)]
    assert pairs(_day(State("solo", ("lorry",)), *coupled)) == tuple(pairwise(names))


def test_verdicts_stand_by_trouble_and_say_what_to_do() -> None:
    text = section(findings_text(sample_findings()), "limits")
    assert text.partition("\n\nLoads within")[0] == (
        "Outside:\n"
        "  loaded: lorry axle 2 rating\n"
        "    13,789 ± 33 lb, at most 13,500 lb; within with a probability of < 0.1 %.\n"
        "    Over by 290 lb; 330 lb less would do.\n"
        "    Limit: the owner's figures off the labels.\n"
        "  loaded: lorry wheel 2L rating\n"
        "    6,988 ± 28 lb, at most 6,900 lb; within with a probability of < 0.1 %.\n"
        "    Over by 290 lb; 330 lb less would do.\n"
        "    Limit: the owner's figures off the labels.\n"
        "\n"
        "Undecided:\n"
        "  loaded: mill GVWR\n"
        "    8,636 ± 36 lb, at most 8,650 lb; 14 lb of room; within with a probability of\n"
        "      80 %.\n"
        "    More drafts would decide it.\n"
        "    Limit: the owner's figures off the labels."
    )


def test_what_is_within_stands_tightest_first_with_its_source() -> None:
    text = section(findings_text(sample_findings()), "limits")
    assert text.partition("\n\nLoads within")[2] == (
        ", tightest first     limit, lb    room, lb  met with\n"
        "  loaded: lorry GVWR            max 19,500     50 ± 36    99.7 %  a\n"
        "  hitched: lorry axle 1 rating   max 7,000  1,672 ± 33  > 99.9 %  a\n"
        "\n"
        "Shares within, tightest first  limit, %      room, %  met with\n"
        "  hitched: mill share on the pintle, at\n"
        "    least 10 %                   min 10  3.69 ± 0.46  > 99.9 %  b\n"
        "\n"
        "Each limit stands once, in the state where least room is left.\n"
        "Limits from:\n"
        "  a  the owner's figures off the labels\n"
        "  b  common practice, no source\n"
        "\n"
        "Not judged, because not determined:\n"
        "  lorry GCWR (hitched)"
    )


def test_two_vehicles_of_one_name_keep_it_in_their_limits() -> None:
    result = sample_findings()
    vehicles = {**result.day.vehicles, "mill": replace(result.day.vehicles["mill"], name="Flat-bed lorry")}
    text = section(findings_text(replace(result, day=replace(result.day, vehicles=vehicles))), "limits")
    assert text.startswith("Outside:\n  loaded: Flat-bed lorry: axle 2 rating\n")


def test_a_file_without_ratings_says_that_nothing_is_judged() -> None:
    text = findings_text(replace(sample_findings(), verdicts=()))
    assert section(text, "limits") == "The file states no ratings, so nothing is judged."
    assert "In short: 1 reading to look at again." in text


def test_what_is_not_determined_comes_with_the_drafts_that_would_tell() -> None:
    text = findings_text(sample_findings(gaps=True))
    assert section(text, "not determined") == (
        "hitched and loaded: all of mill; combination gross; coupling load, share of\n"
        "  trailer's gross\n"
        "  One more draft would tell:\n"
        "    - in state hitched, read mill/1L, mill/1R, mill/2L and mill/2R together\n"
        "\n"
        "cargo logs: place across the vehicle\n"
        "  One more draft would tell:\n"
        "    - in state loaded, read lorry/2L and lorry/2R together\n"
        "\n"
        "10 changes between states are not determined; 'findings --json' names each."
    )


def test_a_vehicle_of_which_nothing_is_known_has_no_empty_rows() -> None:
    lines = section(findings_text(sample_findings(gaps=True)), "hitched").splitlines()
    start = lines.index("mill: Portable saw mill")
    assert lines[start + 1 : start + 4] == [
        "  not determined; the section on what is not determined says what would tell",
        "",
        "lorry: 53.77 ± 0.31 % of its load on axle 1; centre of gravity 76.31 ± 0.50 in",
    ]


def test_one_wheel_that_is_not_determined_says_so_in_its_place() -> None:
    result = sample_findings()
    blank = {"solo/lorry/wheel/1L", "solo/lorry/side/L"}
    items = tuple(
        replace(item, value=None, u=None, low=None, high=None) if item.id in blank else item for item in result.findings
    )
    lines = section(findings_text(replace(result, findings=items)), "solo").splitlines()
    assert lines[4] == "  axle 1  not determined  2,936 ± 28   5,821 ± 33   5,787 to  5,854"
    assert lines[5] == "  axle 2      2,519 ± 28  2,484 ± 28   5,003 ± 33   4,970 to  5,036"


def _agreement(consistency: Consistency) -> str:
    text = findings_text(replace(sample_findings(), consistency=consistency))
    return section(text, "do the readings agree?")


def test_a_suspect_comes_with_the_slips_that_would_explain_it() -> None:
    assert section(findings_text(sample_findings()), "do the readings agree?") == (
        "No (chi-square 21.4 with 6 degrees of freedom, p = 0.16 %). One day in\n"
        "620 without a slip would disagree this much. Look at this first:\n"
        "\n"
        "  draft 2, lorry/1L on p1: reads 2,640 lb, 4.1 standard deviations from what the\n"
        "    others say\n"
        "    - digits swapped: 2,860 would fit\n"
        "    - pads p1 and p2 exchanged?"
    )


def test_the_test_that_is_shown_is_the_one_that_p_belongs_to() -> None:
    """Upper 5 % point of F with 5 and 10 degrees of freedom: 3.326 (any table of F; here from Pearson and Hartley)."""
    known_in_part = Consistency(5 * 3.326, 5.0, 0.05, True, (), reference_dof=10.0)
    assert "(F 3.33 with 5 and 10 degrees of freedom, p = 5 %)" in _agreement(known_in_part).replace("\n", " ")
    found = weigh(parse_day(simulate("solo", 0).text, "day.toml")).consistency
    assert found.p == pytest.approx(stats.f.sf(found.chi2 / found.dof, found.dof, found.reference_dof))


def test_the_agreement_is_said_in_words() -> None:
    assert _agreement(Consistency(3.2, 5.0, 0.669, True, ())) == (
        "Yes, within their stated doubt (chi-square 3.2 with 5 degrees of freedom,\n"
        "p = 67 %). 67 of 100 days without a slip would disagree at least this much."
    )
    assert _agreement(Consistency(41.0, 5.0, 9e-8, False, ())) == (
        "No (chi-square 41.0 with 5 degrees of freedom, p < 0.01 %), and no single\n"
        "reading stands out. Fewer than one day in 10,000 without a slip would disagree\n"
        "this much."
    )


@pytest.mark.parametrize(
    ("p", "said"),
    [
        (0.9999, "More than 99 of 100 days"),
        (0.71, "71 of 100 days"),
        (0.02, "2 of 100 days"),
        (0.0101, "One day in 99 "),
        (0.001, "One day in 1,000 "),
        (0.0001, "One day in 10,000 "),
        (0.00009, "Fewer than one day in 10,000 "),
    ],
)
def test_a_probability_is_said_as_a_count_of_days(p: float, said: str) -> None:
    assert how_rare(p).startswith(said)
    assert _agreement(Consistency(0.0, 0.0, None, True, ())) == (
        "Nothing tells: every reading is just needed, so a slip in one would pass unseen.\n"
        "One repeated draft, taken anew, would check them."
    )


@pytest.mark.parametrize("own", [(), CAUTIONS])
def test_every_caution_is_shown_always(own: tuple[str, ...]) -> None:
    text = section(findings_text(replace(sample_findings(), cautions=own)), "cautions")
    assert " ".join(text.split()) == " ".join(f"- {caution}" for caution in (*own, *STANDING))


def test_cargo_of_unknown_mass_is_found() -> None:
    assert section(findings_text(sample_findings()), "cargo found") == (
        "                 mass, lb  along (x), in  across (y), in\n"
        "logs on lorry  7,400 ± 50    141.2 ± 1.7  not determined"
    )


@pytest.mark.parametrize("units", [("lb", "in"), ("kg", "mm"), ("t", "m"), ("g", "mm"), ("oz", "ft")])
@pytest.mark.parametrize("gaps", [False, True])
def test_no_line_is_wider_than_eighty_columns(units: tuple[str, str], gaps: bool) -> None:
    lines = findings_text(sample_findings(UnitSystem(*units), gaps=gaps)).splitlines()
    assert max(map(len, lines)) <= 80
    assert not any(line != line.rstrip() for line in lines)


def test_kilograms_are_shown_where_they_are_asked_for() -> None:
    text = findings_text(sample_findings(UnitSystem("kg", "mm")))
    assert "kg              left       right        both   95 % interval" in section(text, "solo")
    assert "  axle 1  1,308 ± 13  1,332 ± 13  2,640 ± 15  2,625 to 2,655" in section(text, "solo")
    assert "lorry: Flat-bed lorry, towing vehicle, 2 axles 4,191 mm apart, GVWR 8,845 kg," in text


def test_the_interval_gives_way_where_the_figures_are_long() -> None:
    text, _, left = section(findings_text(sample_findings(UnitSystem("g", "mm"))), "solo").partition("What is left")
    assert "95 % interval" not in text
    assert "95 % interval" in left
    assert "  axle 1  1,308,000 ± 13,000  1,332,000 ± 13,000  2,640,000 ± 15,000" in text


def test_names_longer_than_a_line_are_broken() -> None:
    result = sample_findings()
    lorry = replace(LORRY, name="a very long name " * 12)
    day = replace(
        result.day,
        title="day " * 40,
        vehicles={**result.day.vehicles, "lorry": lorry},
        cargo={**result.day.cargo, "sawyer": Cargo("sawyer", "lorry", name="person " * 20)},
    )
    assert max(map(len, findings_text(replace(result, day=day)).splitlines())) <= 80


def _ids(result: Findings) -> set[str]:
    return {item.id.partition("/")[0] for item in result.findings}


def test_one_state_keeps_its_findings_its_verdicts_and_cargo() -> None:
    chosen = in_states(sample_findings(), ["solo"])
    assert _ids(chosen) == {"solo", "cargo"}
    assert [verdict.id for verdict in chosen.verdicts] == ["solo/lorry/gross:gvwr"]
    text = findings_text(chosen)
    assert "── solo ─" in text
    assert "── hitched ─" not in text
    assert "── from " not in text


def test_two_states_keep_the_change_between_them() -> None:
    chosen = in_states(sample_findings(), ["solo", "hitched"])
    assert _ids(chosen) == {"solo", "hitched", "solo>hitched", "cargo"}
    assert "── from solo to hitched ─" in findings_text(chosen)


def test_a_day_without_readings_says_so() -> None:
    result = sample_findings()
    blank = tuple(replace(item, value=None, u=None, low=None, high=None, needs=()) for item in result.findings)
    day = replace(result.day, drafts=())
    text = findings_text(Findings(day, blank, (), Consistency(0.0, 0.0, None, True, ()), ()))
    assert "\nIn short: there are no readings yet.\n" in text
    assert section(text, "do the readings agree?") == "There are no readings yet."
    assert section(text, "solo") == (
        "aboard: sawyer (185 lb)\n\nnot determined; the section on what is not determined says what would tell"
    )


def test_where_no_side_is_known_no_column_stands_empty() -> None:
    result = sample_findings()
    apart = re.compile("solo/lorry/(wheel|side)/")
    items = tuple(replace(item, value=None, u=None) if apart.match(item.id) else item for item in result.findings)
    assert section(findings_text(replace(result, findings=items)), "solo").partition("\n\nlorry: 53")[0] == (
        "aboard: sawyer (185 lb)\n"
        "Nothing is known of left and right apart.\n"
        "\n"
        "lb               both     95 % interval\n"
        "lorry: Flat-bed lorry\n"
        "  axle 1   5,821 ± 33   5,787 to  5,854\n"
        "  axle 2   5,003 ± 33   4,970 to  5,036\n"
        "  gross   10,823 ± 36  10,787 to 10,859"
    )


def test_one_degree_of_freedom_is_singular() -> None:
    one = findings_text(replace(sample_findings(), consistency=Consistency(0.4, 1.0, 0.53, True, ())))
    said = section(one, "do the readings agree?").replace("\n", " ")
    assert "(chi-square 0.4 with 1 degree of freedom, p = 53 %)" in said
    half = findings_text(replace(sample_findings(), consistency=Consistency(0.4, 1.5, 0.53, True, ())))
    assert "with 1.5 degrees of freedom" in half


@pytest.mark.parametrize(("p", "told"), [(0.993, "> 99 %"), (0.9899, "= 99 %"), (1.0, "> 99 %"), (0.00004, "< 0.01 %")])
def test_a_probability_near_one_is_not_printed_with_an_exponent(p: float, told: str) -> None:
    agreeing = Consistency(1.5, 1204.0, p, True, ())
    said = section(findings_text(replace(sample_findings(), consistency=agreeing)), "do the readings agree?")
    assert f"(chi-square 1.5 with 1,204 degrees of freedom, p {told})" in said.replace("\n", " ")


@pytest.mark.parametrize("readings", [True, False])
def test_a_caution_that_the_section_on_agreement_holds_is_not_said_twice(readings: bool) -> None:
    day = sample_day()
    few = replace(day, drafts=day.drafts[:1] if readings else ())
    said = weigh(few)
    doubled = [text for text in said.cautions if text.startswith(("Nothing checks", "There are no readings"))]
    assert len(doubled) == 1
    cautions = section(findings_text(said), "cautions").replace("\n  ", " ")
    assert doubled[0] not in cautions
    assert f"- {STANDING[0]}" in cautions
    agreement = section(findings_text(said), "do the readings agree?")
    assert agreement.startswith("Nothing tells: every" if readings else "There are no readings yet.")


def test_a_load_that_lifts_leaves_no_room_under_a_rating_of_what_may_press_down() -> None:
    result = sample_findings()
    within = next(item for item in result.verdicts if item.outcome is Outcome.WITHIN and item.sense == "max")
    lifts = replace(within, value=-400.0 * POUND, margin=within.limit + 400.0 * POUND)
    said = findings_text(replace(result, verdicts=(lifts,)))
    assert re.search(r"max [\d,]+ +\N{EN DASH} ", said)
    assert " of room" not in said


def test_a_state_of_which_only_the_whole_is_known_has_no_table() -> None:
    result = sample_findings()
    whole = "hitched/combination/gross"
    kept = [item for item in result.findings if item.id.startswith("hitched/")]
    blank = [Finding(item.id, item.label, item.dimension, item.basis) for item in kept if item.id != whole]
    known = Finding(
        whole, whole, Dimension.MASS, Basis.MEASURED, 9000.0 * POUND, 20 * POUND, 8960 * POUND, 9040 * POUND
    )
    said = section(findings_text(replace(result, findings=(*blank, known))), "hitched")
    assert said.splitlines()[-3:] == [
        "All wheels of the combination: 9,000 ± 40 lb, 95 % interval 8,960 to 9,040.",
        "All else is not determined; the section on what is not determined says what",
        "would tell.",
    ]
    assert "left" not in said


def test_the_name_of_a_limit_stands_beside_figures_of_any_width() -> None:
    """A room of which only the last of thirty digits is in doubt leaves the name no room on the line."""
    result = sample_findings()
    within = next(item for item in result.verdicts if item.outcome is Outcome.WITHIN and item.sense == "max")
    wide = replace(within, limit=1e30, value=1.0, u=1e-9, margin=1e30)
    said = findings_text(replace(result, verdicts=(wide,)))
    assert within.label.split(":")[0] in said
