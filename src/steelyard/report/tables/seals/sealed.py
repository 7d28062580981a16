"""A seal just given, as text: its number, its key, its content, and what it does not prove."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steelyard.report.words.grid import wrapped
from steelyard.seals.figures import each_figure
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.moment import moment_words
from steelyard.seals.record import LEVELS, OUTCOMES, SealRecord
from steelyard.seals.ring import GivenSeal
from steelyard.seals.sealing import DayToSeal

PROVES = (
    "The seal shows that the holder of this key sealed these figures and these files, and that not a digit was "
    "changed since. It does not show who that is: publish the fingerprint where people know you. It does not show that "
    "the pads read right or stood right, nor when it was: the clock is yours. For trade or a court, go to a licensed "
    "weighing."
)
"""The proof that a seal is, and what its limits."""

_GIVE = (
    "Give all three away. The seal alone holds the headline figures, the findings hold every number, and from the "
    "weigh day they can be worked out again."
)


def sealed_text(seal: GivenSeal, content: DayToSeal, *, name: str, files: tuple[str, str, str]) -> str:
    """Everything that a weigher should read of a seal, at most 80 columns, ending in a line end.

    Parameters
    ----------
    name: of the weigher. files: the seal, the findings, the weigh day.
    """
    record = seal.record
    head = [
        f"Seal number {record.number:,} of {name}, {moment_words(record.sealed_at)}",
        f"  key           {fingerprint_of(record.public)}",
        f"  seal          {files[0]}",
        f"  findings      {files[1]}",
        f"  weigh day     {files[2]}",
    ]
    again = "This very day was sealed before, and this is that seal: a day has one seal of one key."
    doubts = _doubts(content.findings)
    sections = [
        head,
        wrapped(again) if seal.again else [],
        ["Sealed:", *_content(record)],
        [line for doubt in doubts for line in wrapped(doubt)],
        wrapped(_GIVE),
        wrapped(PROVES),
    ]
    return "\n\n".join("\n".join(lines) for lines in sections if lines) + "\n"


def _content(record: SealRecord) -> list[str]:
    figures = sum(1 for _ in each_figure(record.figures))
    title = record.title or "a weigh day without a title"
    states = len(record.figures)
    limits = ", ".join(f"{count} {word}" for count, word in zip(record.verdicts, OUTCOMES, strict=True) if count)
    history = record.history
    lines = [
        f"{title}{'' if record.date is None else f', {record.date}'}",
        f"{_count(figures, 'figure')} of {_count(states, 'state')}, in {record.unit}"
        if figures
        else "no figure; the code on paper has no room for any, and the files hold them all"
        if record.left_out
        else "no figure, for nothing that was weighed determines one",
        f"limits: {limits}" if limits else "no limit was given to judge by",
        "the digests of the findings, of the readings and of the file",
    ]
    if record.left_out and figures:
        lines.insert(2, f"left out, so that the code on paper can be read: {LEVELS[record.left_out]}")
    if history is not None:
        lines.append(f"the chain of {_count(history.entries, 'draft and correction', 'drafts and corrections')}")
    if record.number > 1:
        lines.append(f"the digest of seal {record.number - 1:,}, so that one left out is missed")
    return [row for line in lines for row in wrapped(line, first="  ", rest="    ")]


def _doubts(findings: Mapping[str, Any]) -> list[str]:
    """Sentences about readings that contradict one another, which are sealed as they are."""
    doubts: list[str] = []
    if not findings["consistency"]["consistent"]:
        doubts.append("The readings contradict one another. They are sealed as they are, and the seal says so.")
    contested = sum(bool(item["contested"]) for item in findings["findings"])
    if contested:
        verb = "rests" if contested == 1 else "rest"
        doubts.append(
            f"{_count(contested, 'finding')} {verb} on readings that contradict one another, and the seal marks that."
        )
    return doubts


def _count(number: int, one: str, several: str | None = None) -> str:
    return f"{number:,} {one if number == 1 else several or one + 's'}"
