"""Rules of the road on the ticket: verdicts with their place, papers, what is missing, and how the rules were read."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import lru_cache
from typing import Any, cast

from pypdf import PdfReader

from steelyard.dayfile import parse_day, parse_rule_set, with_own_sets
from steelyard.findings import Findings, weigh
from steelyard.model import ChosenRules
from steelyard.questions.rules import RuleBasis, rules_of
from steelyard.report.print.ticket import ticket_content, ticket_pdf
from tests.cli.days import ROOT

PUPPETS = (ROOT / "examples" / "puppet-van.toml").read_text(encoding="utf-8")

OLD_AND_FROM_MEMORY = """\
format = 1
kind = "rules"
id = "ferry"
title = "Rules of the island ferry"
edition = "timetable of 2024"
checked = 2024-11-20
applies = "every rig that goes aboard"
[[rules]]
id = "ferry.gross"
title = "Most that goes over the ramp"
form = "gross"
cite = "Conditions of carriage, number 9"
grade = "C"
words = "A vehicle with its trailer weighs at most 3.7 t."
limit = "3700 kg"
"""
"""The puppet van and its trailer weigh 3,736 kg, the van alone 2,474 kg."""


@lru_cache(maxsize=1)
def puppets() -> Findings:
    """The example day, and a rule that is from memory in a set that nobody checked for two years."""
    day = parse_day(PUPPETS.replace('licence = "B"', 'licence = "B"\nfrom_memory = true'), "puppets.toml")
    return weigh(with_own_sets(day, [parse_rule_set(OLD_AND_FROM_MEMORY, "ferry.toml")], "puppets.toml"))


@lru_cache(maxsize=1)
def printed() -> str:
    """The words of the ticket, blanks of any kind as one space."""
    pages = PdfReader(io.BytesIO(ticket_pdf(puppets(), pictures=False))).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def content(findings: Findings) -> dict[str, Any]:
    """What the ticket says, by part."""
    return ticket_content(findings, None)


def test_the_verdicts_stand_with_their_figures_and_the_place_of_their_rule() -> None:
    text = printed()
    row = "Stage trailer, the load of its axles: towed mass of a car, with brakes"
    section = text[text.index("Rules of the road The file says: place DE; private use; licence B") :]
    assert row in section
    assert "outside 1,236 ± 10 kg at most 1,200 kg 36 kg over < 0.1 % d" in section
    assert "d StVZO section 42(1)" in section
    assert "Rule set de-stvzo: German masses, towed masses and coupling loads." in section
    assert "Checked against that edition on 2026-11-25." in section


def test_the_licence_is_told_by_the_papers_and_stands_at_the_head_too() -> None:
    """No finding shows it: the rig would need the licence if it were empty."""
    text = printed()
    assert "1 outside by papers" in text
    words = "BE: a vehicle of at most 3,500 kg and a trailer of at most 3,500 kg, together over 4,250 kg"
    assert text.count(words) == 2
    assert text.index(words) < text.index("What is left")
    assert "Driver of the combination: Category of licence (by the papers)" in text


def test_what_the_file_does_not_say_is_named() -> None:
    assert "Not judged in hitched. The file does not say vehicles.van.papers.coupling: Permissible mass" in printed()


def test_an_old_set_and_a_rule_from_memory_say_so() -> None:
    text = printed()
    assert "Checked against that edition on 2024-11-20, over a year ago." in text
    assert "Rule set ferry was last checked against its edition on 2024-11-20, over a year before 20" in text
    assert "Conditions of carriage, number 9, from memory, not checked" in text
    assert "most that goes over the ramp (from memory)" in text
    assert re.search(r"From memory, not checked: [^:]*ferry\.gross\. The file asks for such rules", text)
    assert text.count("not legal advice; the text in force stands above this table") == 1


def test_each_verdict_stands_once_with_the_ratings_or_with_the_rules() -> None:
    """Ratings in their table as on a day without rules; the section has as many verdicts as the question finds."""
    told, answer = content(puppets()), rules_of(puppets())
    plain = weigh(replace(puppets().day, rules=ChosenRules()))
    assert told["verdicts"] == content(plain)["verdicts"]
    assert told["sources"] == content(plain)["sources"]
    rows = [row for state in told["road"]["states"] for row in state["rows"]]
    for outcome in ("outside", "undecided"):
        found = [one for one in answer.rules if one.outcome is not None and one.outcome.value == outcome]
        assert len(found) == sum(row["outcome"] == outcome for row in rows) > 0
    assert {row["mark"] for row in rows if row["papers"]} == {
        row["mark"] for row in rows if row["chance"] == "by the papers"
    }
    assert any(one.weighing is RuleBasis.PAPER for one in answer.rules)


def test_a_day_that_chooses_no_rules_has_no_such_section() -> None:
    told = content(weigh(replace(puppets().day, rules=ChosenRules())))
    assert told["road"] is None
    assert "outside by papers" not in [cast("dict[str, Any]", one)["name"] for one in told["tally"]]


def test_a_day_of_papers_alone_is_judged_at_the_head() -> None:
    """A rig that nobody weighed and that has no ratings to judge still needs its licence."""
    day = parse_day(PUPPETS[: PUPPETS.index("[[drafts]]")].replace(', "de-stvzo"', ""), "puppets.toml")
    told = content(weigh(day))
    assert told["judged"]
    assert {"name": "outside by papers", "count": 1} in told["tally"]
