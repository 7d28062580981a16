"""The chosen rules of the road, for the ticket: verdicts state by state, what is missing, and the rule sets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict

from steelyard.model import WeighDay
from steelyard.questions.rules import RulesAnswer
from steelyard.report.words.rules import paper_troubles, rules_words


def road_content(answer: RulesAnswer) -> dict[str, object] | None:
    """Everything that the ticket says of the chosen rules; None where none is chosen."""
    words = rules_words(answer)
    if words is None:
        return None
    measured = answer.day.measured_states()
    states = [
        {"state": answer.day.state_title(one.state), "measured": one.state in measured, "counts": one.counts}
        | {"rows": [asdict(row) for row in one.rows]}
        for one in words.states
    ]
    told = {
        "states": states,
        "open": _once(answer.day, {one.state: [item.words for item in one.open] for one in words.states}),
        "silent": _once(answer.day, {one.state: one.silent for one in words.states}),
    }
    return {**asdict(words), **told}


def _once(day: WeighDay, by_state: Mapping[str, Sequence[str]]) -> list[dict[str, str]]:
    """Each text once, with the states that it is said of; those are empty where it is said of every state."""
    found: dict[str, list[str]] = {}
    for state, texts in by_state.items():
        for text in dict.fromkeys(texts):
            found.setdefault(text, []).append(day.state_title(state))
    return [
        {"states": "" if len(states) == len(by_state) else ", ".join(states), "words": text}
        for text, states in found.items()
    ]


def road_troubles(answer: RulesAnswer) -> list[dict[str, object]]:
    """The rules that the papers do not keep, for the box at the head: no finding shows them."""
    return [
        {
            "outcome": "outside",
            "where": answer.day.state_title(one.ruling.state),
            "text": f"{one.ruling.label}, by the papers: {text}",
        }
        for one, text in paper_troubles(answer)
    ]
