"""Answers from flags, from questions, or from defaults: numbers may carry a unit, and bad ones are asked again."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from typing import Any, TypeAlias, TypeVar

import click

from steelyard.dayfile import quantity_complaint
from steelyard.units import Dimension, Marks, QuantityError, UnitSystem, parse_quantity

_T = TypeVar("_T")
_Read: TypeAlias = Callable[[str, Marks], _T]
_FEET = frozenset({"in", "ft"})
_POUNDS = frozenset({"lb", "lbs", "oz"})


class Prompter:
    """Takes each answer from its flag; else asks; else, where no questions are wanted, takes the default."""

    def __init__(self, flags: Mapping[str, Any], units: UnitSystem, *, questions: bool) -> None:
        self._flags = flags
        self._units = units
        self._questions = questions

    @property
    def length_unit(self) -> str:
        """The unit of a length without one."""
        return self._units.length

    def length(self, flag: str, question: str, *, default: tuple[str, str]) -> float:
        """A length above zero, in the file's unit. ``default`` is written for feet and for metres."""
        plain = default[0] if self._units.length in _FEET else default[1]
        return self._one(flag, question, self._amount(Dimension.LENGTH), plain)

    def mass(self, flag: str, question: str, *, default: tuple[str, str]) -> float:
        """A mass above zero, in the file's unit. ``default`` is written for pounds and for kilograms."""
        plain = default[0] if self._units.mass in _POUNDS else default[1]
        return self._one(flag, question, self._amount(Dimension.MASS), plain)

    def rating(self, flag: str, question: str) -> float | None:
        """A rating off a label, in the file's mass unit; None where there is none."""
        return self._one(flag, f"{question}, empty if unknown", self._optional(), "")

    def ratings(self, flag: str, question: str, count: int) -> tuple[float | None, ...]:
        """A rating for each axle; one flag after the other stands for one axle after the other.

        Raises
        ------
        BadParameter: the flag was given more often than there are axles.
        """
        given = self._flags[flag]
        if given:
            if len(given) > count:
                raise click.BadParameter(f"{len(given)} given for {count} axles", param_hint=hint(flag))
            return tuple(self._checked(flag, text, self._amount(Dimension.MASS)) for text in given)
        return tuple(self.rating("", f"{question} {number}") for number in range(1, count + 1))

    def lengths(self, flag: str) -> tuple[float, ...]:
        """The lengths of a flag that may be given again; empty where it was not given."""
        return tuple(self._checked(flag, text, self._amount(Dimension.LENGTH)) for text in self._flags[flag])

    def text(self, flag: str, question: str, *, default: str) -> str:
        """Any text."""
        return self._one(flag, question, lambda text, _: text.strip(), default)

    def count(self, flag: str, question: str, *, default: int, lowest: int, highest: int) -> int:
        """A whole number between two others."""

        def read(text: str, _: Marks) -> int:
            if not text.strip().isdecimal() or not lowest <= int(text) <= highest:
                raise click.UsageError(f"'{text}' is not a whole number from {lowest} to {highest}")
            return int(text)

        return self._one(flag, question, read, str(default))

    def numbers(self, flag: str, question: str, *, highest: int) -> tuple[int, ...]:
        """Some of the whole numbers from 1 to ``highest``, in order; empty for none of them."""

        def read(text: str, _: Marks) -> tuple[int, ...]:
            parts = text.replace(",", " ").split()
            wrong = next((part for part in parts if not part.isdecimal() or not 1 <= int(part) <= highest), None)
            if wrong is not None:
                raise click.UsageError(f"'{wrong}' is not a whole number from 1 to {highest}")
            return tuple(sorted({int(part) for part in parts}))

        given = self._flags[flag]
        if given:
            return self._checked(flag, " ".join(given), read)
        return self._one("", question, read, "")

    def choice(self, flag: str, question: str, *, default: str, among: tuple[str, ...]) -> str:
        """A word out of those in ``among``."""

        def read(text: str, _: Marks) -> str:
            if text not in among:
                raise click.UsageError(f"'{text}' is not one of {', '.join(among)}")
            return text

        return self._one(flag, f"{question} ({', '.join(among)})", read, default)

    def yes(self, flag: str, question: str, *, default: bool) -> bool:
        """Yes or no."""
        given = self._flags[flag]
        if given is not None:
            return bool(given)
        if not self._questions:
            return default
        _refuse_closed_input()
        return click.confirm(question, default=default, err=True)

    def _one(self, flag: str, question: str, read: _Read[_T], default: str) -> _T:
        given = self._flags.get(flag)
        if given is not None:
            return self._checked(flag, str(given), read)
        if not self._questions:
            return read(default, Marks.WRITTEN)

        _refuse_closed_input()

        def typed(text: str) -> _T:
            return read(text, Marks.WRITTEN if text == default else Marks.TYPED)

        return click.prompt(question, default=default, value_proc=typed, show_default=bool(default), err=True)

    def _checked(self, flag: str, text: str, read: _Read[_T]) -> _T:
        try:
            return read(text, Marks.WRITTEN)
        except click.UsageError as error:
            raise click.BadParameter(error.message, param_hint=hint(flag)) from None

    def _amount(self, dimension: Dimension) -> _Read[float]:
        def read(text: str, marks: Marks) -> float:
            try:
                quantity = parse_quantity(text, dimension, self._units.symbol(dimension), marks)
            except QuantityError as error:
                raise click.UsageError(f"'{text}' {quantity_complaint(text, error, dimension)}") from None
            if quantity.value <= 0.0:
                raise click.UsageError(f"'{text}' is not above zero")
            if quantity.u is not None:
                raise click.UsageError(f"'{text}' has an uncertainty; write that into the file afterwards")
            return self._units.show(quantity.value, dimension)

        return read

    def _optional(self) -> _Read[float | None]:
        amount = self._amount(Dimension.MASS)
        return lambda text, marks: amount(text, marks) if text.strip() else None


def _refuse_closed_input() -> None:
    if sys.stdin is None:  # pyright: ignore[reportUnnecessaryComparison] - where the shell closed it
        raise click.UsageError("standard input is closed, so nothing can be asked; --no-questions asks nothing")


def hint(flag: str) -> str:
    """A flag as it is typed."""
    return f"'--{flag.replace('_', '-')}'"
