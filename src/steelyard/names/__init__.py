"""Names: which of the known names somebody probably meant.

Owns the sentence "did you mean" and nothing else, so that every message says it in the same words. Read ``model`` next.
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["meant", "nearest"]

_CLOSE = 0.6


def nearest(name: str, known: Iterable[str], close: float = _CLOSE) -> str | None:
    """The known name that is spelled most like ``name``; None where no name is close, or the closest is the same.

    Parameters
    ----------
    close: how alike they must be, from 0 (any name will do) to 1 (the same).
    """
    import difflib  # takes a while to load, and most names are right

    found = difflib.get_close_matches(name, list(known), n=1, cutoff=close)
    return found[0] if found and found[0] != name else None


def meant(name: str, known: Iterable[str], there: str = "there are") -> str:
    """The end of a message about an unknown name: the nearest known name, or all of them after ``there``."""
    names = list(known)
    near = nearest(name, names)
    return f"did you mean {near!r}?" if near is not None else f"{there} {', '.join(names) or 'none'}"
