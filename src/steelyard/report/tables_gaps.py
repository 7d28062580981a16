"""What the readings cannot tell, whether they agree, and what to be careful with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet

from steelyard.adjustment import Suspect
from steelyard.findings import STANDING, Findings
from steelyard.model import WeighDay
from steelyard.planning import Need
from steelyard.report.tables_grid import listed, rule, wrapped
from steelyard.report.tables_names import COMBINATION, COUPLING, Address, address, with_unit, words
from steelyard.units import Dimension

_ORDER = ("wheel", "axle", "side")


def gap_section(findings: Findings) -> list[str]:
    """What is not determined, grouped by the drafts that would tell; empty where everything is."""
    gaps = [(finding.id, finding.needs) for finding in findings.findings if not finding.determined]
    told = [finding.id for finding in findings.findings if finding.determined]
    return [rule("not determined"), *gap_lines(gaps, told=told)] if gaps else []


def gap_lines(gaps: Iterable[tuple[str, tuple[Need, ...]]], *, told: Iterable[str]) -> list[str]:
    """One paragraph for each set of drafts: what it would tell, and which drafts these are.

    ``told`` are the ids that are determined: a vehicle of which nothing is told is named as a whole.
    """
    grouped: dict[tuple[Need, ...], list[Address]] = {}
    for finding_id, needs in gaps:
        grouped.setdefault(needs, []).append(address(finding_id))
    partly = {(where.states, where.owner) for where in map(address, told)}
    lines: list[str] = []
    for needs, members in grouped.items():
        loads = [item for item in members if not item.transfer]
        if loads:
            lines += ["", *_what(loads, partly), *need_lines(needs)]
    changes = sum(item.transfer for members in grouped.values() for item in members)
    if changes:
        plural = "change between states is" if changes == 1 else "changes between states are"
        lines += ["", f"{changes} {plural} not determined; 'findings --json' names each."]
    return lines


def _what(members: Sequence[Address], partly: AbstractSet[tuple[tuple[str, ...], str]]) -> list[str]:
    """The quantities of each state; states of which the same is missing are named together."""
    alike: dict[str, list[str]] = {}
    for states in dict.fromkeys(item.states for item in members):
        own = [item for item in members if item.states == states]
        whole = list(dict.fromkeys(item.owner for item in own if _whole(item, partly)))
        rest = [item for item in own if item.owner not in whole]
        names = "; ".join([f"all of {owner}" for owner in whole] + drawn_together(rest))
        alike.setdefault(names, []).append("".join(states))
    lines: list[str] = []
    for names, states in alike.items():
        lines += wrapped(f"{listed(states)}: {names}" if any(states) else names, rest="  ")
    return lines


def _whole(item: Address, partly: AbstractSet[tuple[tuple[str, ...], str]]) -> bool:
    """Whether it belongs to a vehicle of which nothing is determined in this state."""
    vehicle = not item.of_cargo and item.owner not in {COMBINATION, COUPLING}
    return vehicle and (item.states, item.owner) not in partly


def drawn_together(members: Sequence[Address]) -> list[str]:
    """Names of quantities of one state, one text for each owner; its wheels, axles and sides drawn together.

    ``tow wheels 1L 1R, axle 1, gross``, ``coupling load, share of trailer's gross``.
    """
    names: dict[str, dict[str, list[str]]] = {}
    for item in members:
        kind = item.what[0] if item.what[0] in _ORDER and item.states else ""
        names.setdefault(item.owner, {}).setdefault(kind or words(item), []).append(item.what[-1] if kind else "")
    drawn: list[str] = []
    for owner, kinds in names.items():
        texts = [_numbered(owner, kind, numbers) for kind, numbers in kinds.items()]
        lead = next(prefix for prefix in (f"cargo {owner}: ", f"{owner} ", "") if texts[0].startswith(prefix))
        drawn.append(lead + ", ".join(text.removeprefix(lead) for text in texts))
    return drawn


def _numbered(owner: str, kind: str, numbers: Sequence[str]) -> str:
    """``tow wheels 1L 1R``; a quantity without numbers is its own name already."""
    if not numbers[0]:
        return kind
    return f"{owner} {kind}{'s' if len(numbers) > 1 else ''} {' '.join(numbers)}"


def need_lines(needs: Sequence[Need]) -> list[str]:
    """The drafts that would tell, one a line, in words that can be followed at the pads."""
    if not needs:
        return wrapped("No draft that these instruments allow would tell.", first="  ")
    lead = "One more draft would tell:" if len(needs) == 1 else f"{len(needs)} more drafts would tell:"
    lines = [f"  {lead}"]
    for need in needs:
        together = " together" if len(need.places) > 1 else ""
        lines += wrapped(f"in state {need.state}, read {listed(need.places)}{together}", first="    - ")
    return lines


def agreement_section(findings: Findings) -> list[str]:
    """The global test in a sentence, then the suspects, each with the slips that would explain it."""
    result = findings.consistency
    lines = [rule("do the readings agree?"), ""]
    if result.p is None:
        return lines + wrapped(
            "Nothing tells: every reading is just needed, so a slip in one would pass unseen. "
            "One repeated draft, taken anew, would check them."
        )
    test = f"chi-square {result.chi2:.1f} with {result.dof:.3g} degrees of freedom, p {_percent(result.p)}"
    if result.consistent and not result.suspects:
        return lines + wrapped(f"Yes, within their stated doubt ({test}).")
    start = "As a whole they do" if result.consistent else "No"
    lines += wrapped(
        f"{start} ({test}). Look at {'this' if len(result.suspects) == 1 else 'these'} first:"
        if result.suspects
        else f"{start} ({test}), and no single reading stands out."
    )
    for suspect in result.suspects:
        lines += suspect_lines(suspect, findings.day)
    return lines


def suspect_lines(suspect: Suspect, day: WeighDay) -> list[str]:
    """One reading that does not fit: where it stands, how far off it is, what would explain it."""
    draft = next((item for item in day.drafts if item.number == suspect.draft), None)
    name = (
        f"draft {suspect.draft}"
        if draft is None or draft.title == f"draft {suspect.draft}"
        else (f"draft {suspect.draft} ({draft.title})")
    )
    reading = with_unit(suspect.reading, Dimension.MASS, day.units)
    head = (
        f"{name}, {suspect.place} on {suspect.instrument}: reads {reading}, "
        f"{abs(suspect.normalised_residual):.1f} standard deviations from what the others say"
    )
    lines = ["", *wrapped(head, first="  ", rest="    ")]
    for explanation in suspect.explanations:
        lines += wrapped(explanation, first="    - ")
    return lines


def caution_section(findings: Findings) -> list[str]:
    """What this day calls for, then what goes with every day."""
    lines = [rule("cautions"), ""]
    for caution in (*findings.cautions, *STANDING):
        lines += wrapped(caution, first="- ")
    return lines


def _percent(p: float) -> str:
    return "< 0.01 %" if p < 1e-4 else f"= {100.0 * p:.2g} %"
