"""The question that the ledger answers, and the shape in which the answer is published."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from steelyard.findings import STANDING, Weighed
from steelyard.questions.entry import Entry
from steelyard.questions.figures import FindingShape, finding_shape
from steelyard.questions.kinds import StateName
from steelyard.questions.ledger.accounts import Account, ItemKind, Ledger, LedgerItem, Source, ledger
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.units import UnitSystem


@dataclass(frozen=True, slots=True)
class LedgerQuestion:
    """Which state to account for."""

    state: Annotated[str, StateName("A state that was weighed.")]
    since: Annotated[
        str | None, StateName("Also what came aboard or was taken off since this state, beyond what the file says.")
    ] = None


@dataclass(frozen=True, slots=True)
class ItemShape:
    """One line of a ledger: a mass and the place of its centre."""

    item: Annotated[str, "Id of the cargo or of the trailer, `unloaded`, `rest` or `since`."]
    name: str
    kind: ItemKind
    source: Annotated[Source, "How its mass is known."]
    mass: FindingShape
    x: Annotated[FindingShape, "Rearward."]
    y: Annotated[FindingShape, "To the left."]


@dataclass(frozen=True, slots=True)
class AccountShape:
    """The ledger of one vehicle."""

    vehicle: str
    items: Annotated[tuple[ItemShape, ...], "The vehicle itself, its cargo, and what hangs on its couplings."]
    sum: Annotated[FindingShape, "Of the items."]
    gross: Annotated[FindingShape, "As weighed."]
    rest: Annotated[
        ItemShape | None, "What the items do not explain; null where the unloaded mass of the vehicle is not stated."
    ]
    since: Annotated[ItemShape | None, "What was put on since the other state, below zero where it was taken off."]


@dataclass(frozen=True, slots=True)
class LedgerShape:
    """Everything aboard each vehicle of a state, and how it adds up to the gross."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    state: str
    since: str | None
    contested: Annotated[bool, "Whether readings contradict one another; every figure then spans all answers."]
    vehicles: tuple[AccountShape, ...]
    cautions: tuple[str, ...]


def _answer(weighed: Weighed, question: LedgerQuestion) -> Ledger:
    return ledger(weighed, question.state, question.since)


def _shaped(book: Ledger, file: str) -> LedgerShape:
    return LedgerShape(
        format=FORMAT,
        file=file,
        title=book.day.title,
        units=units_of(book.day),
        state=book.state,
        since=book.since,
        contested=bool(book.contested),
        vehicles=tuple(_account(account, book.day.units) for account in book.accounts),
        cautions=(*book.cautions, *STANDING),
    )


def _account(account: Account, units: UnitSystem) -> AccountShape:
    return AccountShape(
        vehicle=account.vehicle,
        items=tuple(_item(item, units) for item in account.items),
        sum=finding_shape(account.total, units),
        gross=finding_shape(account.gross, units),
        rest=None if account.rest is None else _item(account.rest, units),
        since=None if account.since is None else _item(account.since, units),
    )


def _item(item: LedgerItem, units: UnitSystem) -> ItemShape:
    mass, x, y = (finding_shape(leg, units) for leg in (item.mass, item.x, item.y))
    return ItemShape(item.id, item.name, item.kind, item.source, mass, x, y)


LEDGER = Entry(LedgerQuestion, _answer, LedgerShape, _shaped)
