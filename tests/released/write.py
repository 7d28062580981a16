"""Writes the kept answers anew and says which changed: ``make answers``, or ``python -m tests.released.write``.

An answer changes only together with a line of the changelog that says why.
"""

from __future__ import annotations

from tests.released.asked import ANSWERS, kept_answers
from tests.released.near import differences


def main() -> None:
    """Write each answer that differs by more than the last digit of a number; remove what nobody asks for any more."""
    ANSWERS.mkdir(exist_ok=True)
    known = list(kept_answers())
    for path in set(ANSWERS.rglob("*.json")) - {kept.path for kept in known}:
        path.unlink()
        print(path.name, "removed")
    for kept in known:
        fresh = kept.ask()
        before = kept.path.read_text(encoding="utf-8") if kept.path.exists() else ""
        if differences(before, fresh):
            kept.path.parent.mkdir(exist_ok=True)
            kept.path.write_text(fresh, encoding="utf-8")
            print(kept.path.name)


if __name__ == "__main__":
    main()
