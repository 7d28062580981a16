"""Texts of strangers as plain text: what is in a seal must neither steer a terminal nor pass for another line."""

from __future__ import annotations

import unicodedata

LONGEST = 160
_UNSEEN = "\N{REPLACEMENT CHARACTER}"
_MARKS_IN_A_ROW = 2


def plain(text: str, longest: int = LONGEST) -> str:
    """The text on one line, without signs that cannot be seen; a longer one is cut.

    Control characters, signs that turn the direction of writing, line separators, unassigned ones and halves of
    characters become a sign for "cannot be shown", and so do marks that would pile up on one letter.
    """
    shown: list[str] = []
    marks = 0
    for letter in " ".join(text[: 4 * longest].split()):
        marks = marks + 1 if unicodedata.combining(letter) else 0
        hidden = unicodedata.category(letter)[0] == "C" or marks > _MARKS_IN_A_ROW
        shown.append(_UNSEEN if hidden else letter)
    kept = "".join(shown)
    return kept if len(kept) <= longest else kept[: longest - 1] + "\N{HORIZONTAL ELLIPSIS}"
