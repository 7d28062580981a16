"""Matching a line against a sequence of parts, in a bounded number of steps: the length of the line times that of the
program. No line, and no pattern, can make it take longer.

The programs are small: runs of characters, fixed texts, blanks, choices and marks. They are tried in the order in which
a backtracking regular expression would try them, and what was tried once at one place of the line is not tried there
again, for it has failed. That is the visited set of a backtracking matcher after R. Cox, *Regular Expression Matching:
the Virtual Machine Approach* (2009); from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CharacterRun:
    """``least`` to ``most`` characters out of ``chars``, as many as possible first."""

    chars: frozenset[str]
    least: int
    most: int


@dataclass(frozen=True, slots=True)
class FixedText:
    """Always the same characters."""

    text: str


@dataclass(frozen=True, slots=True)
class Blanks:
    """Any number of blanks, as many as possible first."""


@dataclass(frozen=True, slots=True)
class Either:
    """One of several sequences, the first that lets the rest of the line match."""

    ways: tuple[tuple[Node, ...], ...]


@dataclass(frozen=True, slots=True)
class Many:
    """A sequence that takes some characters, any number of times, as often as possible first."""

    body: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class NamedGroup:
    """A sequence whose place in the line is told, under ``name``."""

    name: int
    body: tuple[Node, ...]


Node = CharacterRun | FixedText | Blanks | Either | Many | NamedGroup


def perhaps(*body: Node) -> Either:
    """The sequence, or nothing."""
    return Either((body, ()))


@dataclass(frozen=True, slots=True)
class _Fork:
    """Go on at each of these places of the program, in this order."""

    places: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Mark:
    """A group begins or ends here."""

    name: int


_Op = CharacterRun | FixedText | Blanks | _Fork | _Mark


@dataclass(frozen=True, slots=True)
class Found:
    """Positions of the groups of a match: first and last place + 1 by name. ``steps``: how many it took."""

    spans: dict[int, tuple[int, int]] | None
    steps: int


class Matcher:
    """A compiled sequence of nodes that must match a line as a whole."""

    def __init__(self, nodes: Iterable[Node]) -> None:
        ops: list[_Op] = []
        _compile(tuple(nodes), ops)
        self._ops = tuple(ops)

    def __len__(self) -> int:
        """How many operations it was compiled to."""
        return len(self._ops)

    def bound(self, line: str) -> int:
        """The most steps that a match of a line of this length can take."""
        return (len(self._ops) + 1) * (len(line) + 1)

    def match(self, line: str) -> Found:
        """Match a whole line; ``spans`` is None where it does not match."""
        ops, wide, end = self._ops, len(line) + 1, len(self._ops)
        came: dict[int, int] = {}  # from which step each step was first reached
        waiting: list[tuple[int, int]] = [(0, 0)]
        steps = 0
        while waiting:
            step, before = waiting.pop()
            if step in came:
                continue
            came[step] = before
            steps += 1
            place, at = divmod(step, wide)
            if place == end:
                if at == wide - 1:
                    return Found(self._spans(came, step, wide), steps)
                continue
            # the last that is put on the pile is tried first
            waiting.extend([(to, step) for to in _ways(ops[place], line, place, at, wide) if to not in came])
        return Found(None, steps)

    def _spans(self, came: Mapping[int, int], step: int, wide: int) -> dict[int, tuple[int, int]]:
        """The groups on the way that led to ``step``."""
        ends: dict[int, int] = {}
        spans: dict[int, tuple[int, int]] = {}
        while step > 0:
            step = came[step]
            place, at = divmod(step, wide)
            op = self._ops[place]
            if isinstance(op, _Mark) and op.name not in spans:
                if op.name in ends:
                    spans[op.name] = (at, ends[op.name])
                else:
                    ends[op.name] = at
        return spans


def _ways(op: _Op, line: str, place: int, at: int, wide: int) -> Iterable[int]:
    """The steps that follow one, the one to try first at the end."""
    onward = (place + 1) * wide
    if isinstance(op, CharacterRun):
        last, most = at, min(at + op.most, wide - 1)
        while last < most and line[last] in op.chars:
            last += 1
        return range(onward + at + op.least, onward + last + 1)
    if isinstance(op, Blanks):
        more = line[at : at + 1] == " "
        return (onward + at, place * wide + at + 1) if more else (onward + at,)
    if isinstance(op, FixedText):
        return (onward + at + len(op.text),) if line.startswith(op.text, at) else ()
    if isinstance(op, _Fork):
        return [to * wide + at for to in reversed(op.places)]
    return (onward + at,)


def _compile(nodes: Sequence[Node], ops: list[_Op]) -> None:
    for node in nodes:
        if isinstance(node, NamedGroup):
            ops.append(_Mark(node.name))
            _compile(node.body, ops)
            ops.append(_Mark(node.name))
        elif isinstance(node, Either):
            _compile_either(node, ops)
        elif isinstance(node, Many):
            start = len(ops)
            ops.append(_Fork(()))
            _compile(node.body, ops)
            ops.append(_Fork((start,)))
            ops[start] = _Fork((start + 1, len(ops)))
        else:
            ops.append(node)


def _compile_either(node: Either, ops: list[_Op]) -> None:
    start = len(ops)
    ops.append(_Fork(()))
    begins: list[int] = []
    ends: list[int] = []
    for way in node.ways:
        begins.append(len(ops))
        _compile(way, ops)
        ends.append(len(ops))
        ops.append(_Fork(()))
    ops[start] = _Fork(tuple(begins))
    for place in ends:
        ops[place] = _Fork((len(ops),))
