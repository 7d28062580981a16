"""An entry of the registry: one question, how it is answered, and the shape in which its answer is published."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Generic, TypeVar

from steelyard.classes import dataclass
from steelyard.findings import Weighed, solve
from steelyard.model import WeighDay
from steelyard.questions.form import question_schema, read
from steelyard.questions.shape import either_schema, schema_of, to_json

Q = TypeVar("Q")
A = TypeVar("A")


@dataclass(frozen=True, slots=True)
class Entry(Generic[Q, A]):
    """One question that can be asked of a day.

    Attributes
    ----------
    question: dataclass of what is asked; see ``form``. answer: computes the answer from the solved day, or from the
        day as it was read where ``of_day``; raises ``ScenarioError`` where the day cannot be asked so. shape: dataclass
        of the published answer; see ``shape``.
    shaped: puts an answer into that shape; its second argument is the name of the file to print. slow: whether the
        answer may take seconds. of_day: whether the day need not be solved first. otherwise: dataclasses of what the
        command prints as JSON in place of an answer, if it does.
    """

    question: type[Q]
    answer: Callable[[Any, Q], A]
    shape: type
    shaped: Callable[[A, str], Any]
    slow: bool = False
    of_day: bool = False
    otherwise: tuple[type, ...] = ()

    def read(self, day: WeighDay, data: Mapping[str, Any], source: str, options: Mapping[str, str]) -> Q:
        """The question from JSON values; see ``form.read``, which says what it raises."""
        return read(self.question, day, data, source=source, options=options)

    def of(self, day: WeighDay, question: Q) -> A:
        """The answer of a day that is not solved yet; raises what ``answer`` raises."""
        return self.answer(day if self.of_day else solve(day), question)

    def data(self, answer: A, *, file: str) -> dict[str, Any]:
        """The published answer, ready for ``json``."""
        return to_json(self.shaped(answer, file))

    def asked(self, weighed: Weighed, data: Mapping[str, Any], *, file: str) -> dict[str, Any]:
        """The published answer of a solved day to a question that came as JSON.

        Raises
        ------
        DayFileError: with every fault of the question. ScenarioError: the day cannot be asked so.
        """
        day = weighed.adjustment.rig.day
        question = self.read(day, data, "question", {})
        return self.data(self.answer(day if self.of_day else weighed, question), file=file)

    def asked_together(self, files: Sequence[tuple[str, Weighed]], data: Mapping[str, Any]) -> dict[str, Any]:
        """The published answer of several solved days, each with the name of its file, to a question as JSON.

        Raises
        ------
        DayFileError: with every fault of the question. ScenarioError: the days cannot be asked so.
        """
        first, weighed = files[0]
        question = self.read(weighed.adjustment.rig.given, data, "question", {})
        return self.data(self.answer(files, question), file=first)

    def question_schema(self) -> dict[str, Any]:
        """The JSON Schema of what the question takes."""
        return question_schema(self.question)

    def answer_schema(self, title: str) -> dict[str, Any]:
        """The JSON Schema of the published answer."""
        if self.otherwise:
            return either_schema(title, self.shape, *self.otherwise)
        return schema_of(self.shape, title=title)
