"""Monospace columns: what stands under what, and what may not be torn apart."""

from __future__ import annotations

from steelyard.report.words.grid import Figures, Grid, listed, rule, wrapped


def test_decimal_points_stand_under_one_another() -> None:
    grid = Grid(("kg", "load"))
    grid.add("one", Figures(("1,340.5", "6.3")))
    grid.add("two", Figures(("98", "12")))
    grid.add("three", Figures(("0.25", "0.10")))
    assert grid.render() == [
        "kg                 load",
        "one    1,340.5  ±  6.3",
        "two       98    ± 12",
        "three      0.25 ±  0.10",
    ]


def test_texts_among_figures_stand_right_and_lines_of_text_run_across() -> None:
    grid = Grid(("lb", "left"))
    grid.say("a vehicle with a long name")
    grid.add("axle 1", Figures(("980", "12")))
    grid.add("axle 2", "not determined")
    assert grid.render() == [
        "lb                left",
        "a vehicle with a long name",
        "axle 1        980 ± 12",
        "axle 2  not determined",
    ]


def test_a_column_gives_way_only_where_the_table_is_too_wide() -> None:
    grid = Grid(("", "load", "interval"))
    grid.add("axle 1", "980", Figures(("955", "1,005"), " to "))
    assert grid.render(width=30, droppable=2) == [
        "        load      interval",
        "axle 1   980  955 to 1,005",
    ]
    assert grid.render(width=25, droppable=2) == ["        load", "axle 1   980"]


def test_trim_drops_the_pauses_at_the_end_alone() -> None:
    grid = Grid(("", "load"))
    grid.say()
    grid.add("axle 1", "980")
    grid.say()
    grid.say()
    grid.trim()
    assert grid.render() == ["        load", "", "axle 1   980"]


def test_a_figure_keeps_its_doubt_and_its_unit_on_its_line() -> None:
    assert wrapped("centre of gravity 76.31 ± 0.24 in behind", width=28) == [
        "centre of gravity",
        "76.31 ± 0.24 in behind",
    ]
    assert wrapped("met with a chance of < 0.1 %", width=24) == ["met with a chance of", "< 0.1 %"]


def test_wrapped_lines_are_led_in_and_an_empty_text_keeps_its_lead() -> None:
    assert wrapped("one two three", first="- ", width=10) == ["- one two", "  three"]
    assert wrapped("", first="- ") == ["-"]


def test_a_rule_fills_the_width_with_a_note_at_its_end() -> None:
    assert rule("solo", "measured", width=24) == "── solo ─────── measured"
    assert len(rule("cautions")) == 80


def test_names_are_listed_as_a_sentence_would() -> None:
    assert [listed(names) for names in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
