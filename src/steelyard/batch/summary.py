"""A summary of a folder of answers: how many days, what they say of each quantity, how often each limit is kept.

Reads the tables part by part and keeps of each row two numbers. What is contested, predicted or not determined is
counted and stays out of the figures.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, Protocol

import numpy as np

from steelyard.batch.extra import arrow
from steelyard.batch.layout import DAYS, FAULTS, FINDINGS, VERDICTS
from steelyard.batch.population import Array, Population, population_of
from steelyard.names import meant

PERCENT = "%"
ROOM = "room"
"""Kind of quantity of the room that is left to a limit, in percent of the limit."""

_MEASURED = "measured"
_OF_A_WHEEL, _WHEEL = "wheel_rating", "wheel rating"
_FAULTS_SHOWN = 5


class PartsOfTables(Protocol):
    """A folder of answers, table by table."""

    def batches(self, table: str, columns: Sequence[str] | None = None) -> Iterator[Any]:
        """The rows of a table, a ``pyarrow.Table`` for each part that is whole."""
        ...


class GroupKey(NamedTuple):
    """The values that the cases of one group share; see the columns of the tables.

    ``state`` is empty where states are taken together; ``since`` is that of a change. ``quantity`` is ``ROOM`` for the
    room to a limit, and ``place`` then the limit in words, as in ``axle 1 rating``.
    """

    quantity: str
    role: str
    place: str
    since: str
    state: str
    unit: str


@dataclass(frozen=True, slots=True)
class Group:
    """One quantity over many days, with the cases that stay out of its figures."""

    key: GroupKey
    population: Population | None
    contested: int
    undetermined: int


@dataclass(frozen=True, slots=True)
class KeptLimit:
    """How often a limit is kept, such as ``axle 1 rating``, by vehicles of one role.

    ``expected`` is the sum of the probabilities that it is not; ``contested`` counts verdicts that hang on which of the
    contradicting readings is wrong, whatever they are.
    """

    limit: str
    role: str
    asked: int
    within: int
    undecided: int
    outside: int
    contested: int
    expected: float


@dataclass(frozen=True, slots=True)
class FaultCount:
    """A message that days have in common, after the place in the file where there is one."""

    message: str
    days: int


@dataclass(frozen=True)
class Summary:
    """The summary of a folder of answers.

    ``inconsistent``: days whose readings contradict one another; of days without a wrong reading ``SIGNIFICANCE`` do so
    by chance. ``groups``: most cases first, those that are 0 on every day last. ``faulty``: days that were not
    answered, by the kind of their fault.
    """

    days: int
    inconsistent: int
    groups: tuple[Group, ...]
    limits: tuple[KeptLimit, ...]
    faulty: dict[str, int]
    faults: tuple[FaultCount, ...]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which rows are summarised.

    ``quantities``: kinds of quantities, such as ``front_share``; empty for all that are told in percent, which compare
    from rig to rig, and for the room to each limit but those of single wheels. ``states``: empty for all.
    ``any_state``: states are taken together.
    """

    quantities: frozenset[str] = frozenset()
    states: frozenset[str] = frozenset()
    any_state: bool = False


class UnknownNameError(ValueError):
    """No day of a folder has the quantity or the state that is asked for; the message names it and what there is."""


@dataclass
class _Cases:
    """The rows of one group so far."""

    values: list[Array] = field(default_factory=list[Array])
    doubts: list[Array] = field(default_factory=list[Array])
    contested: int = 0
    undetermined: int = 0

    def group(self, key: GroupKey) -> Group:
        values = np.concatenate(self.values) if self.values else np.empty(0)
        doubts = np.concatenate(self.doubts) if self.doubts else np.empty(0)
        known = population_of(values, doubts) if values.size else None
        return Group(key, known, self.contested, self.undetermined)


def summary_of(folder: PartsOfTables, wanted: Wanted) -> Summary:
    """Summarise the answers of ``folder``, the largest groups first, those that are 0 on every day last.

    Raises
    ------
    UnknownNameError: no day has a quantity or a state that is wanted.
    AnswersFolderError: a part cannot be read.
    """
    cases: defaultdict[GroupKey, _Cases] = defaultdict(_Cases)
    quantities, states = {ROOM}, set[str]()
    for table in folder.batches(FINDINGS, _OF_FINDINGS):
        quantities.update(table["quantity"].unique().to_pylist())
        states.update(table["state"].unique().to_pylist())
        _add_findings(cases, table, wanted)
    _refuse_unknown(wanted, quantities, states)
    limits: Counter[tuple[_Limit, str]] = Counter()
    expected: defaultdict[_Limit, float] = defaultdict(float)
    for table in folder.batches(VERDICTS, _OF_VERDICTS):
        _add_verdicts(limits, expected, table)
        if not wanted.quantities or ROOM in wanted.quantities:
            _add_rooms(cases, table, wanted)
    groups = [found.group(key) for key, found in cases.items()]
    days = list(folder.batches(DAYS, ("consistent",)))
    faulty, messages = _faults(folder.batches(FAULTS, ("day", "source", "kind", "place", "message")))
    return Summary(
        days=sum(table.num_rows for table in days),
        inconsistent=sum(table["consistent"].to_pylist().count(False) for table in days),
        groups=tuple(sorted(groups, key=_most_first)),
        limits=tuple(_limits(limits, expected)),
        faulty=faulty,
        faults=messages,
    )


def _refuse_unknown(wanted: Wanted, quantities: set[str], states: set[str]) -> None:
    """See that each quantity and each state that is wanted is one of the days, which have these.

    Raises
    ------
    UnknownNameError: one is not.
    """
    for word, asked, known in (("quantity", wanted.quantities, quantities), ("state", wanted.states, states)):
        for name in sorted(asked - known):
            raise UnknownNameError(f"no day has a {word} {name!r}; {meant(name, sorted(known - {''}))}")


_KEYS = ("quantity", "role", "place", "since", "state", "unit")
_OF_FINDINGS = (*_KEYS, "value", "u", "basis", "determined", "contested")
_OF_VERDICTS = (
    *("label", "requirement", "state", "role", "limit", "sense", "u", "margin", "unit"),
    *("basis", "probability", "verdict", "contested"),
)


def _add_findings(cases: dict[GroupKey, _Cases], table: Any, wanted: Wanted) -> None:
    pc = _compute()
    rows = table.filter(pc.equal(table["basis"], _MEASURED))
    if wanted.quantities:
        rows = rows.filter(pc.is_in(rows["quantity"], _texts(wanted.quantities)))
    else:
        rows = rows.filter(pc.equal(rows["unit"], PERCENT))
    _add(cases, rows, wanted)


def _add_rooms(cases: dict[GroupKey, _Cases], table: Any, wanted: Wanted) -> None:
    """The room to limits from above, in percent of the limit, as one more quantity."""
    pa, pc = arrow()[0], _compute()
    rows = table.filter(pc.and_(pc.equal(table["basis"], _MEASURED), pc.equal(table["sense"], "max")))
    rows = rows.filter(pc.and_(pc.greater(rows["limit"], 0.0), pc.not_equal(rows["unit"], PERCENT)))
    if not wanted.quantities:
        rows = rows.filter(pc.not_equal(rows["requirement"], _OF_A_WHEEL))
    share = pc.divide(100.0, rows["limit"])
    texts = {"quantity": ROOM, "since": "", "unit": PERCENT}
    made = {name: pa.array([text] * rows.num_rows, pa.string()) for name, text in texts.items()}
    _add(
        cases,
        pa.table(
            {
                **made,
                "role": rows["role"],
                "place": pa.array([_limit_of(label) for label in rows["label"].to_pylist()], pa.string()),
                "state": rows["state"],
                "value": pc.multiply(rows["margin"], share),
                "u": pc.multiply(rows["u"], share),
                "determined": pc.is_valid(rows["margin"]),
                "contested": rows["contested"],
            }
        ),
        wanted,
    )


def _add(cases: dict[GroupKey, _Cases], rows: Any, wanted: Wanted) -> None:
    pc = _compute()
    if wanted.states:
        rows = rows.filter(pc.is_in(rows["state"], _texts(wanted.states)))
    keys = [name for name in _KEYS if not (wanted.any_state and name in ("state", "since"))]
    flags = ["determined", "contested"]
    grouped = rows.group_by([*keys, *flags], use_threads=False).aggregate([("value", "list"), ("u", "list")])
    for place, row in enumerate(grouped.select([*keys, *flags]).to_pylist()):
        key = GroupKey(*(row.get(name) or "" for name in _KEYS))
        values, doubts = (grouped[name][place].values for name in ("value_list", "u_list"))
        found = cases[key]
        if row["contested"]:
            found.contested += len(values)
        elif not row["determined"]:
            found.undetermined += len(values)
        else:
            found.values.append(values.to_numpy(zero_copy_only=False))
            found.doubts.append(doubts.to_numpy(zero_copy_only=False))


def _compute() -> Any:
    """The arithmetic on columns, which carries no types."""
    from pyarrow import compute  # pyright: ignore[reportMissingTypeStubs, reportUnknownVariableType]

    return compute  # pyright: ignore[reportUnknownVariableType]


def _texts(wanted: frozenset[str]) -> Any:
    pa, _ = arrow()
    return pa.array(sorted(wanted), pa.string())


def _most_first(group: Group) -> tuple[bool, int, GroupKey]:
    """Most cases first; a quantity that is 0 on every day, as the change of what nothing can change, tells nothing."""
    found = group.population
    if found is None:
        return True, 0, group.key
    return found.least == found.most == found.doubt == 0.0, -found.count, group.key


def _limit_of(label: str) -> str:
    """A limit in words without the vehicle that it is on."""
    return label.rpartition(": ")[2]


_Limit = tuple[str, str]


def _add_verdicts(counts: Counter[tuple[_Limit, str]], expected: dict[_Limit, float], table: Any) -> None:
    names = ("label", "requirement", "role", "verdict", "contested", "probability")
    rows = table.select(names).to_pydict()
    for label, requirement, role, verdict, contested, probability in zip(*(rows[name] for name in names), strict=True):
        if verdict is None:
            continue
        limit = (_WHEEL if requirement == _OF_A_WHEEL else _limit_of(label)), role
        counts[limit, verdict] += 1
        counts[limit, "contested"] += bool(contested)
        expected[limit] += 0.0 if probability is None else 1.0 - probability


def _limits(counts: Counter[tuple[_Limit, str]], expected: dict[_Limit, float]) -> Iterator[KeptLimit]:
    for limit in sorted({limit for limit, _ in counts}):
        within, undecided, outside, contested = (
            counts[limit, word] for word in ("within", "undecided", "outside", "contested")
        )
        asked = within + undecided + outside
        yield KeptLimit(*limit, asked, within, undecided, outside, contested, expected[limit])


def _faults(tables: Iterable[Any]) -> tuple[dict[str, int], tuple[FaultCount, ...]]:
    kinds: Counter[str] = Counter()
    messages: Counter[str] = Counter()
    for table in tables:
        rows: list[dict[str, str]] = table.to_pylist()
        for row in rows:
            row["message"] = f"{row['place']}: {row['message']}" if row["place"] else row["message"]
        for name, counts in (("kind", kinds), ("message", messages)):
            counts.update(text for *_, text in {(row["day"], row["source"], row[name]) for row in rows})
    most = sorted(messages.items(), key=lambda item: (-item[1], item[0]))[:_FAULTS_SHOWN]
    return dict(sorted(kinds.items())), tuple(FaultCount(message, days) for message, days in most)
