"""The history of a day as text: whether it is as it was kept, then each thing in order with its digest."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.questions.history import History, HistoryLine, thing_of
from steelyard.report.words.grid import wrapped

_INDENT = "    "


def history_text(history: History) -> str:
    """The whole history, at most 80 columns, ending in a line end."""
    title = history.title or "Weigh day"
    sections = [wrapped(f"{title}: history of {'the file' if history.day is None else history.day}")]
    sections.append(_checked(history))
    if history.noted_link is not None:
        said = f"Up to digest {history.noted_link} it is the record whose newest digest was the one you gave."
        sections.append(wrapped(said))
    sections += [_line(line) for line in history.lines]
    sections.append([f"Newest digest, number {history.head_link}", f"{_INDENT}{grouped(history.head)}"])
    return "\n\n".join(map("\n".join, sections)) + "\n"


def kept_words(history: History) -> str:
    """The outcome of the check in one sentence."""
    if history.kept is None:
        return (
            "A file keeps no digests, so nothing here shows whether it was changed; these are worked out from what it "
            "says now, and show whether another file says the same."
        )
    if not history.kept:
        count = len(history.faults)
        return f"Not all is as it was kept: {count} thing{' does' if count == 1 else 's do'} not fit."
    count = len(history.lines) - 1
    if count < 1:
        return "All is as it was kept: the imported text fits its digest, and nothing was added."
    rest = "the one thing that was" if count == 1 else f"the {count} things that were"
    return f"All is as it was kept: the imported text and {rest} added fit their digests."


def grouped(digest: str) -> str:
    """A digest in groups of eight, as people compare it."""
    return " ".join(digest[at : at + 8] for at in range(0, len(digest), 8))


def made_words(line: HistoryLine) -> str:
    """From where a thing came, and when."""
    return ", ".join(f"{word} {moment(text)}" if text else word for word, text in made_parts(line))


def made_parts(line: HistoryLine) -> Iterator[tuple[str, str]]:
    """The same in parts: a word, and the moment that it tells, as the store writes it; empty where it tells none."""
    if line.device:
        yield f"from {line.device}", ""
    if line.at is not None:
        yield "made", line.at
    if line.received is not None:
        yield "kept", line.received


def moment(text: str) -> str:
    """A moment as the store writes it, without its fractions; any other text as it is."""
    return f"{text[:10]} {text[11:19]} UTC" if text.endswith("+00:00") and len(text) > 19 else text


def _checked(history: History) -> list[str]:
    lines = wrapped(kept_words(history))
    for text in (*history.faults, *history.notes):
        lines += wrapped(text, first="- ")
    return lines


def _line(line: HistoryLine) -> list[str]:
    number = "-" if line.link is None else str(line.link)
    mark = "" if line.state in (None, "kept") else str(line.state).upper()
    said = ", ".join(filter(None, (thing_of(line), made_words(line), mark)))
    lines = wrapped(said, first=number.ljust(len(_INDENT)))
    if line.words:
        lines += wrapped(line.words, first=_INDENT)
    return [*lines, f"{_INDENT}{grouped(line.digest) if line.digest else 'no digest'}"]
