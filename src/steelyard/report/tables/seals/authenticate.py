"""The check of seals as text: three lines for each seal, then what a reader compares with the paper."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.report.words.grid import Figures, Grid, rule, wrapped
from steelyard.seals.authenticate.answer import SealAnswerShape, SealedShape, SealJudgement, SealsShape
from steelyard.units import format_number

_KNOWN = frozenset({"known", "own", "retired"})

_NO_SEAL = "carries no seal: "
"""How a reason begins; the judgement in front of it says so already."""

_HOLD = "hold the figures below against the paper, every digit; the paper may round the last one"
_NO_FIGURE = (
    "the seal carries no figure, so nothing on the paper can be checked with it; give the ticket's file, or the "
    "findings and the weigh-day file"
)


def authenticate_text(answer: SealsShape) -> str:
    """The judgement on everything that was given, ending in a line end."""
    parts = ["\n".join(_lines(item)) for item in answer.seals]
    if len(answer.seals) > 1:
        heads = [f"== {', '.join(item.files)}" for item in answer.seals]
        parts = [f"{head}\n\n{part}" for head, part in zip(heads, parts, strict=True)]
    if answer.series:
        parts.append("\n".join([rule("several seals of one key"), "", *_items(answer.series)]))
    return "\n\n".join(parts) + "\n"


def _lines(item: SealAnswerShape) -> Iterator[str]:
    yield from wrapped(_first(item), first=f"{item.judgement.replace('_', ' ')}: ", rest="  ")
    if item.sealed is None:
        return
    yield from wrapped(_second(item.sealed), first="sealed: ", rest="  ")
    yield from _third(item)
    for note in item.notes:
        yield from wrapped(note, first="note: ", rest="  ")
    if item.on_paper and item.sealed.figures:
        yield ""
        yield from _to_compare(item.sealed)


def _first(item: SealAnswerShape) -> str:
    """Whose key sealed, and whether the reader knows it; or why there is no seal."""
    key = item.key
    if key is None:
        return item.reason.removeprefix(_NO_SEAL) if item.judgement is SealJudgement.NO_SEAL else item.reason
    named = f"{key.fingerprint} of {key.name}" if key.name else key.fingerprint
    if item.judgement is SealJudgement.UNKNOWN_KEY:
        return (
            f"whole, but you do not know the key {key.fingerprint}. {key.words} Ask the weigher for the fingerprint, "
            "and give it with --fingerprint, or a keys.json with --keys"
        )
    known = "you know" if key.standing in _KNOWN else "nobody may trust any more" if key.standing == "revoked" else ""
    told = f", which {known}" if known else ", which you do not know"
    return f"sealed with the key {named}{told}. {key.words}"


def _second(sealed: SealedShape) -> str:
    """The content of the seal, in one sentence."""
    weighed = f", weighed {sealed.date}" if sealed.date else ""
    count = len(sealed.figures)
    figures = f"{count} figure{'' if count == 1 else 's'}"
    left_out = "" if sealed.left_out == "nothing" else f" (left out for want of room: {sealed.left_out})"
    verdicts = sealed.verdicts
    counts = [
        (verdicts.within, "within"),
        (verdicts.undecided, "undecided"),
        (verdicts.outside, "outside"),
        (verdicts.not_determined, "not determined"),
    ]
    limits = ", ".join(f"{number} {name}" for number, name in counts if number) or "none judged"
    return (
        f'seal {sealed.number}, "{sealed.title}"{weighed}, sealed {_moment(sealed.sealed_at)} by the weigher\'s clock; '
        f"{figures}{left_out}; limits: {limits}"
    )


def _moment(text: str) -> str:
    return text.replace("T", " ").replace("Z", " UTC") if text.endswith("Z") else text


def _third(item: SealAnswerShape) -> Iterator[str]:
    """The differences one by one; where there are none, everything that agrees."""
    if item.differences:
        count = len(item.differences)
        yield f"differs: {count} thing{'' if count == 1 else 's'}"
        yield from _items([difference.words for difference in item.differences])
        if item.compared:
            yield from wrapped("; ".join(item.compared), first="agrees: ", rest="  ")
    elif item.compared:
        yield from wrapped("; ".join(("nothing", *item.compared)), first="differs: ", rest="  ")
    else:
        has_figures = item.sealed is not None and item.sealed.figures
        words = f"nothing was given to compare with; {_HOLD if has_figures else _NO_FIGURE}"
        yield from wrapped(words, first="differs: ", rest="  ")


def _items(texts: tuple[str, ...] | list[str]) -> Iterator[str]:
    for text in texts:
        yield from wrapped(text, first="  - ", rest="    ")


def _to_compare(sealed: SealedShape) -> Iterator[str]:
    """The sealed figures, for the reader to compare with the paper."""
    yield rule("the sealed figures, to compare with the paper", "u: standard uncertainty")
    yield ""
    table = Grid(("", "value", "u", ""), frozenset({3}))
    for figure in sealed.figures:
        value, u = (format_number(number, sealed.decimals) for number in (figure.value, figure.u))
        unit = sealed.unit + (" (contested)" if figure.contested else "")
        table.add(figure.what, Figures((value,)), Figures((u,)), unit)
    yield from table.render()
    for trouble in sealed.troubles:
        yield f"{trouble.verdict}: {trouble.id}"
