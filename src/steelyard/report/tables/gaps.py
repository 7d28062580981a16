"""Findings that the readings do not determine, and the drafts that would."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field

from steelyard.classes import dataclass
from steelyard.findings import Findings, TradeOff
from steelyard.model import COMBINATION, COUPLING, FindingId
from steelyard.planning import Need
from steelyard.report.words.grid import listed, rule, wrapped
from steelyard.report.words.names import words
from steelyard.units import format_number

_ORDER = ("wheel", "axle", "side")


@dataclass(slots=True)
class _Gap:
    """Findings that the same drafts would tell; ``merged`` where some of them need less."""

    needs: tuple[Need, ...]
    members: list[FindingId] = field(default_factory=list[FindingId])
    merged: bool = False

    @property
    def readings(self) -> frozenset[tuple[str, str]]:
        """The readings of a suggested draft."""
        return frozenset((need.state, place) for need in self.needs for place in need.places)


def gap_section(findings: Findings) -> list[str]:
    """Undetermined findings, grouped by the drafts that would determine them; empty without any."""
    gaps = [(finding.id, finding.needs) for finding in findings.findings if not finding.determined]
    told = [finding.id for finding in findings.findings if finding.determined]
    why = {finding.id: finding.why for finding in findings.findings if finding.why is not None}
    return [rule("not determined"), *gap_lines(gaps, told=told, why=why)] if gaps else []


def gap_lines(
    gaps: Iterable[tuple[str, tuple[Need, ...]]], *, told: Iterable[str], why: Mapping[str, TradeOff] | None = None
) -> list[str]:
    """One paragraph for each set of drafts: what it would tell, and which drafts these are.

    A set that reads all that another one reads, and more, stands for both. ``told`` are the ids that are determined: a
    vehicle of which nothing is told is named as a whole. ``why`` says of a finding what trades off.
    """
    everything = [(FindingId.parse(finding_id), needs) for finding_id, needs in gaps]
    loads = [(where, needs) for where, needs in everything if not where.change]
    partly = {(where.states, where.owner) for where in map(FindingId.parse, told)}
    missing = Counter((where.states, where.owner) for where, _ in loads)
    lines: list[str] = []
    found = _merged(_grouped(loads))
    order = {where: place for place, (where, _) in enumerate(loads)}
    for gap in found:
        gap.members.sort(key=order.__getitem__)
        own = Counter((item.states, item.owner) for item in gap.members)
        whole = {key for key, count in own.items() if _vehicle(*key) and key not in partly and count == missing[key]}
        lines += [
            "",
            *_what(gap.members, whole),
            *_why(gap.members, why or {}),
            *need_lines(gap.needs, all_of_it=gap.merged),
        ]
    if any(gap.merged for gap in found):
        lines += ["", *wrapped("For one of these alone, less may do: 'findings --json' names the drafts for each.")]
    changes = len(everything) - len(loads)
    if changes:
        plural = "change between states is" if changes == 1 else "changes between states are"
        lines += ["", f"{changes} {plural} not determined; 'findings --json' names each."]
    return lines


def trade_off_words(why: TradeOff) -> str:
    """Which loads trade off against one another, in a sentence."""
    if why.unread:
        return f"Nothing was read under {listed(why.unread)} in any state."
    if not why.loads:
        return "The readings so far leave it open."
    first, *rest = why.loads
    sign = 1.0 if first[1] > 0.0 else -1.0
    size = 100.0 / abs(first[1])
    parts = [f"100 more at {first[0]}"]
    for place, amount in rest:
        parts.append(f"{format_number(abs(amount) * size)} {'more' if sign * amount > 0.0 else 'less'} at {place}")
    return f"With {listed(parts)} every reading would be the same."


def _why(members: Sequence[FindingId], why: Mapping[str, TradeOff]) -> list[str]:
    """Why the first of these that has a reason is open."""
    reason = next((why[name] for name in map(str, members) if name in why), None)
    return [] if reason is None else wrapped(trade_off_words(reason), first="  ")


def _grouped(gaps: Iterable[tuple[FindingId, tuple[Need, ...]]]) -> list[_Gap]:
    groups: dict[tuple[Need, ...], _Gap] = {}
    for where, needs in gaps:
        groups.setdefault(needs, _Gap(needs)).members.append(where)
    return list(groups.values())


def _merged(gaps: list[_Gap]) -> list[_Gap]:
    """The groups that no other one covers, each with what it covers; the smallest cover is taken."""
    kept = list(gaps)
    for gap in sorted(gaps, key=lambda gap: len(gap.readings)):
        covers = [other for other in kept if gap.readings and gap.readings < other.readings]
        if covers:
            cover = min(covers, key=lambda other: len(other.readings))
            cover.members += gap.members
            cover.merged = True
            kept.remove(gap)
    return kept


def _vehicle(states: tuple[str, ...], owner: str) -> bool:
    """Whether an owner in some states is a vehicle, which may be named as a whole."""
    return bool(states) and owner not in {COMBINATION, COUPLING}


def _what(members: Sequence[FindingId], whole: set[tuple[tuple[str, ...], str]]) -> list[str]:
    """The quantities of each state; states of which the same is missing are named together."""
    alike: dict[str, list[str]] = {}
    for states in dict.fromkeys(item.states for item in members):
        own = [item for item in members if item.states == states]
        owners = dict.fromkeys(item.owner for item in own if (states, item.owner) in whole)
        rest = [item for item in own if item.owner not in owners]
        names = "; ".join([f"all of {owner}" for owner in owners] + drawn_together(rest))
        alike.setdefault(names, []).append("".join(states))
    lines: list[str] = []
    for names, states in alike.items():
        lines += wrapped(f"{listed(states)}: {names}" if any(states) else names, rest="  ")
    return lines


def drawn_together(members: Sequence[FindingId]) -> list[str]:
    """Names of quantities of one state, one text for each owner; its wheels, axles and sides drawn together.

    ``tow wheels 1L 1R, axle 1, gross``, ``coupling load, share of trailer's gross``.
    """
    names: dict[str, dict[str, list[str]]] = {}
    for item in members:
        kind = item.kind if item.kind in _ORDER and item.states else ""
        names.setdefault(_lead(item), {}).setdefault(kind or words(item), []).append(item.place if kind else "")
    drawn: list[str] = []
    for lead, kinds in names.items():
        texts = [f"{lead}{_numbered(kind, numbers)}" if numbers[0] else kind for kind, numbers in kinds.items()]
        drawn.append(lead + ", ".join(text.removeprefix(lead) for text in texts))
    return drawn


def _lead(item: FindingId) -> str:
    """How the name of a quantity begins: with whose it is."""
    if item.of_cargo:
        return f"cargo {item.owner}: "
    if item.of_coupling and item.place:
        return f"{COUPLING} {item.place} "
    return f"{item.owner} "


def _numbered(kind: str, numbers: Sequence[str]) -> str:
    """``wheels 1L 1R``, ``axle 2``."""
    return f"{kind}{'s' if len(numbers) > 1 else ''} {' '.join(numbers)}"


def need_lines(needs: Sequence[Need], *, all_of_it: bool = False) -> list[str]:
    """The drafts that would tell, one a line, in words that can be followed at the pads."""
    if not needs:
        said = "No draft in the states of this day would tell; a new state may, such as a vehicle alone."
        return wrapped(said, first="  ")
    count = "One more draft" if len(needs) == 1 else f"{len(needs)} more drafts"
    lead = f"{count} would tell{' all of it' if all_of_it else ''}:"
    lines = [f"  {lead}"]
    for need in needs:
        together = " together" if len(need.places) > 1 else ""
        lines += wrapped(f"in state {need.state}, read {listed(need.places)}{together}", first="    - ")
    return lines
