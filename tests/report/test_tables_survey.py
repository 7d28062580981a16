"""What ``check`` says of a sound file."""

from __future__ import annotations

from dataclasses import replace

from steelyard.model import Correction, WeighDay
from steelyard.planning import Need
from steelyard.questions.survey import Survey
from steelyard.report.tables.survey import survey_text
from tests.report.tables_sample import sample_day, sample_findings


def survey(*, gaps: bool = True, redundancy: int = 0) -> Survey:
    found = sample_findings(gaps=gaps).findings
    return Survey(
        tuple(item.id for item in found if item.determined),
        tuple((item.id, item.needs) for item in found if not item.determined),
        redundancy,
        {"lorry": "solo", "mill": "hitched"},
        (),
    )


def test_the_whole_answer() -> None:
    assert survey_text(sample_day(), survey(), file="mill.toml") == (
        "mill.toml: sound\n"
        "Alder Fork, mill move\n"
        "2026-04-18; weighed by R. Quill; for Alder Fork Timber; upper landing, packed\n"
        "gravel\n"
        "\n"
        "── what the file holds ─────────────────────────────────────────────────────────\n"
        "\n"
        "2 vehicles, 4 axles, 4 pads, 2 things of cargo, 3 states (1 without a draft),\n"
        "  3 drafts and 12 readings.\n"
        "lorry: Flat-bed lorry, towing vehicle, 2 axles 165 in apart, GVWR 19,500 lb,\n"
        "  GCWR 32,000 lb, payload 8,600 lb\n"
        "mill: Portable saw mill, trailer, 2 axles (equalised) 172 and 206 in behind its\n"
        "  coupling point, GVWR 10,400 lb\n"
        "Weighed on pads p1, p2, p3 and p4 (division 20 lb).\n"
        "Changes are reckoned from lorry in solo and mill in hitched.\n"
        "\n"
        "── what the drafts will determine ──────────────────────────────────────────────\n"
        "\n"
        "solo: all of lorry\n"
        "hitched: all of lorry\n"
        "loaded (predicted): all of lorry\n"
        "cargo logs: mass, place along the vehicle\n"
        "27 changes between states\n"
        "\n"
        "── what they will not ──────────────────────────────────────────────────────────\n"
        "\n"
        "hitched and loaded: all of mill; combination gross; coupling load, share of\n"
        "  trailer's gross\n"
        "  One more draft would tell:\n"
        "    - in state hitched, read mill/1L, mill/1R, mill/2L and mill/2R together\n"
        "\n"
        "cargo logs: place across the vehicle\n"
        "  One more draft would tell:\n"
        "    - in state loaded, read lorry/2L and lorry/2R together\n"
        "\n"
        "10 changes between states are not determined; 'findings --json' names each.\n"
        "\n"
        "── what checks the readings ────────────────────────────────────────────────────\n"
        "\n"
        "Nothing: every reading is just needed, so a slip in one would pass unseen. One\n"
        "repeated draft, taken anew, would check them.\n"
    )


def test_a_partly_determined_vehicle_is_told_piece_by_piece() -> None:
    whole = survey(gaps=False)
    missing = {"solo/lorry/wheel/1L", "solo/lorry/wheel/1R", "solo/lorry/side/L", "solo/lorry/side/R"}
    needs = (Need("solo", ("lorry/1L",)),)
    part = replace(
        whole,
        determined=tuple(item for item in whole.determined if item not in missing),
        undetermined=(*whole.undetermined, *((item, needs) for item in sorted(missing))),
    )
    text = survey_text(sample_day(), part, file="mill.toml")
    assert (
        "solo: lorry wheels 2L 2R, axles 1 2, gross, on its axles, centre of gravity\n"
        "  along the vehicle, centre of gravity across the vehicle, share on its front\n"
        "  axle\n"
    ) in text
    assert "hitched: all of lorry; all of mill; combination gross; coupling load, share of\n  trailer's gross\n" in text
    assert (
        "solo: lorry sides L R, wheels 1L 1R\n  One more draft would tell:\n    - in state solo, read lorry/1L\n"
    ) in text


def test_redundant_readings_check_the_others() -> None:
    text = survey_text(sample_day(), survey(redundancy=4), file="mill.toml")
    assert text.endswith("\n\n4 readings beyond the number just needed check the others.\n")
    text = survey_text(sample_day(), survey(redundancy=1), file="mill.toml")
    assert text.endswith("\n\n1 reading beyond the number just needed checks the others.\n")


def test_an_empty_day_is_answered_honestly() -> None:
    text = survey_text(WeighDay(), Survey((), (), 0, {}, ()), file="empty.toml")
    assert text.startswith("empty.toml: sound\n\n── what the file holds ─")
    assert "\n\nNothing yet.\nThe file names no instruments.\n" in text
    assert "\n\nNothing: the file has no states.\n" in text
    assert text.endswith("\n\nNothing: there are no readings yet.\n")


def test_corrections_are_counted_and_unused_vehicles_named() -> None:
    day = sample_day()
    solo = {"solo": day.states["solo"]}
    day = replace(
        day, corrections=(Correction(1, "lorry/1L", None, "wheel half off"),), states=solo, drafts=day.drafts[:1]
    )
    text = survey_text(day, Survey((), (), 0, {}, ()), file="mill.toml")
    assert "1 state, 1 draft, 4 readings and\n  1 correction.\n" in text
    assert "No state names mill, so nothing is said of it.\n" in text


def test_a_state_that_tips_over_is_named() -> None:
    text = survey_text(sample_day(), replace(survey(), tipped=("loaded",)), file="mill.toml")
    assert "\nloaded: nothing, for what it stands on does not hold it up\n" in text
