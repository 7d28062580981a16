"""Captions hold to WebVTT whatever a title holds, and say what the picture of the moment says.

Rules of the standard (W3C, WebVTT, Candidate Recommendation of 2019-04-04, section 4), from memory: cues are in order
of start; a cue begins before it ends; a timestamp has two digits of hours or more; the text of a cue has no blank line,
no ``-->`` and no ``<`` or ``&`` but those of tags and references. ``webvtt-py`` reads each file too, strictly.
"""

from __future__ import annotations

import html
import re
from dataclasses import replace

import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.questions.moments import timeline_of_drafts
from steelyard.report.overlay.captions import Cue, caption_lines, web_vtt
from steelyard.report.overlay.frame import OverlayLook, drawn_runs
from steelyard.report.overlay.schedule import FrameRun
from steelyard.report.words.names import shown
from tests.cli.days import ROOT
from tests.cli.test_fallen import TIPPING
from tests.report.sample import LB
from tests.report.svg_reading import root_of, texts

_STAMP = re.compile(r"(\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3})")


def milliseconds(stamp: str) -> int:
    match = _STAMP.fullmatch(stamp)
    assert match, stamp
    hours, minutes, seconds, rest = map(int, match.groups())
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + rest


def checked(text: str) -> list[Cue]:
    """The cues of a file that keeps the rules of the standard."""
    assert text.startswith("WEBVTT\n\n")
    assert text.endswith("\n")
    assert not re.search("[\r\x00]", text)
    cues: list[Cue] = []
    for block in text.removesuffix("\n").split("\n\n")[1:]:
        first, *rest = block.split("\n")
        if first == "NOTE":
            assert "-->" not in block
            continue
        assert first == str(len(cues) + 1)
        timing, *lines = rest
        start, end = (milliseconds(stamp) for stamp in timing.split(" --> "))
        assert (cues[-1].end if cues else 0) <= start < end
        assert lines
        for line in lines:
            assert line.strip() == line != ""
            assert "-->" not in line
            assert "<" not in line
            assert not re.search(r"&(?!(?:amp|lt|gt);)", line)
            assert not re.search("[\u202a-\u202e\u2066-\u2069]", line)
        cues.append(Cue(start, end, tuple(map(html.unescape, lines))))
    return cues


TITLES = st.text(st.characters(codec="utf-8"), max_size=60) | st.sampled_from(
    [
        "a --> b",
        "<b>&amp;",
        "00:00:01.000 --> 00:00:02.000",
        "NOTE",
        "\n\n1\n",
        "STYLE\n\n",
        "\u2028\u0085",
        "--&gt;",
        "\u202e42",
    ]
)


@given(lines=st.lists(st.lists(TITLES, min_size=1, max_size=3), min_size=1, max_size=4))
def test_no_title_breaks_a_file(lines: list[list[str]]) -> None:
    cues = [Cue(1000 * place, 1000 * place + 900, ("Head", *said)) for place, said in enumerate(lines)]
    text = web_vtt(cues)
    read = checked(text)
    assert [(cue.start, cue.end) for cue in read] == [(cue.start, cue.end) for cue in cues]
    again = webvtt.from_string(text, strict=True)
    assert [html.unescape(caption.raw_text) for caption in again] == ["\n".join(cue.lines) for cue in read]
    assert [milliseconds(caption.start) for caption in again] == [cue.start for cue in cues]


def test_words_of_a_title_are_kept() -> None:
    (cue,) = checked(web_vtt([Cue(0, 360_000_000, ("Fish & chips <van> --> left\nhand",))]))
    assert cue == Cue(0, 360_000_000, ("Fish & chips <van> --> left hand",))


@pytest.mark.parametrize(
    "cue", ["00:00:00.000 --> 00:00:00.000\na", "00:00:00.000 --> 00:00:01.000\na & b", "0:0 --> 1:0\na"]
)
def test_a_broken_file_is_seen(cue: str) -> None:
    with pytest.raises(AssertionError):
        checked(f"WEBVTT\n\n1\n{cue}\n")


SLIP = (ROOT / "examples" / "quay-bakery-slip.toml").read_text(encoding="utf-8")
BAKERY = parse_day((ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8"), "bakery.toml")


def known_at(place: int, text: str = "") -> tuple[Findings, str]:
    """The findings at a moment of the bakery's day, or of another one, and the state that stood on the pads."""
    day = BAKERY if not text else parse_day(text, "day.toml")
    moment = timeline_of_drafts(day).moments[place]
    return weigh(moment.day), moment.state


@pytest.mark.parametrize("place", range(6))
def test_captions_have_the_figures_of_the_findings_and_of_the_picture(place: int) -> None:
    """What a file with only the drafts up to then says; the picture shows the same figures."""
    timeline = timeline_of_drafts(BAKERY)
    moment = timeline.moments[place]
    alone = weigh(replace(BAKERY, drafts=BAKERY.drafts[: place + 1]))
    drawn = next(iter(drawn_runs([FrameRun(0, 1, moment)], timeline.clock, OverlayLook())))
    seen = " ".join(box.name for box in texts(root_of(drawn.svg)))
    assert drawn.lines[0].startswith(f"{timeline.clock.text(moment.at)}, {BAKERY.drafts[place].label}: ")
    assert f"{timeline.clock.text(moment.at)}, {BAKERY.drafts[place].label}" in seen
    axles = [finding for finding in alone.findings if re.fullmatch(rf"{moment.state}/\w+/axle/\d", finding.id)]
    said = [re.match(r".*, axle \d: (.*)", line) for line in drawn.lines]
    assert len(axles) == len([match for match in said if match])
    for finding, words in zip(axles, [match[1] for match in said if match], strict=True):
        figures = shown(finding, BAKERY.units)
        if figures is None:
            assert words == "not determined"
        else:
            assert words == f"{figures.value} lb, 95 % interval {figures.low} to {figures.high}"
            assert figures.value in seen


def test_what_later_drafts_tell_is_not_known_before() -> None:
    first, state = known_at(1)
    assert "Oven trailer, axle 1: not determined" in caption_lines(first, state, "")
    second, state = known_at(2)
    assert not any("not determined" in line for line in caption_lines(second, state, ""))


def test_contested_figures_are_their_span_and_the_readings_are_named() -> None:
    findings, state = known_at(5, SLIP)
    lines = caption_lines(findings, state, "")
    contested = [item for item in findings.findings if item.contested and item.id.startswith(f"{state}/")]
    assert contested
    marked = [line for line in lines if ", contested" in line and not line.startswith("What is left: ")]
    assert marked
    assert all(re.search(r": \S+ to \S+ lb, contested", line) for line in marked)
    assert "contested: readings contradict one another. Look at " in lines[-1]


def test_a_load_over_its_rating_says_so() -> None:
    heavy = BAKERY.vehicles["truck"]
    axles = tuple(replace(axle, rating=4000.0 * LB) for axle in heavy.axles)
    day = replace(BAKERY, vehicles={**BAKERY.vehicles, "truck": replace(heavy, axles=axles)})
    lines = caption_lines(weigh(replace(day, drafts=day.drafts[:1])), "solo", "")
    assert [line.rpartition("; ")[2] for line in lines if ", axle 1: " in line] == ["over its rating of 4,000 lb"]
    assert not any("rating" in line for line in lines if ", axle 2: " in line)


def test_the_rating_that_binds_first_is_told_as_the_picture_tells_it() -> None:
    timeline = timeline_of_drafts(BAKERY)
    drawn = next(iter(drawn_runs([FrameRun(0, 1, timeline.moments[-1])], timeline.clock, OverlayLook())))
    (words,) = [line for line in drawn.lines if line.startswith("What is left: ")]
    match = re.fullmatch(
        r"What is left: Crew-cab bread truck, ball, (\S+) lb left, 95 % interval (\S+ to \S+); binds first", words
    )
    assert match, words
    assert f"{match[1]} lb" in [box.name for box in texts(root_of(drawn.svg))]
    slip, state = known_at(5, SLIP)
    (words,) = [line for line in caption_lines(slip, state, "") if line.startswith("What is left: ")]
    assert re.fullmatch(r"What is left: Crew-cab bread truck, ball, \S+ to \S+ lb, contested; binds first", words), (
        words
    )


def test_a_state_that_tips_over_has_no_figures_and_says_why() -> None:
    findings = weigh(parse_day(TIPPING.replace("RATE", "20000 kg/m"), "tipping.toml"))
    assert caption_lines(findings, "tail", "10:00:00") == (
        "10:00:00: tail",
        "No figures: the supports do not hold it up.",
    )
