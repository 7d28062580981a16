"""Rule sets from files of the user's, beside the bundled ones that a weigh day chooses by name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from os import PathLike, fspath

from steelyard.dayfile.fault import DayFileError, Fault
from steelyard.dayfile.rule_sets.chosen import clashes
from steelyard.model import RuleSet, WeighDay
from steelyard.rules import bundled_names


def read_own_sets(paths: Iterable[str | PathLike[str]]) -> tuple[tuple[RuleSet, ...], tuple[DayFileError, ...]]:
    """The sound rule sets of some files in order, and an error for each of the others with all that is wrong in it.

    A set that is called as a bundled one or as that of an earlier file is not sound: its verdicts would be taken for
    those of the other.
    """
    names = tuple(paths)
    if not names:
        return (), ()
    from steelyard.dayfile.rule_sets.reader import read_rule_set  # with all forms of rules, which few days have

    found: dict[str, tuple[str, RuleSet]] = {}
    errors: list[DayFileError] = []
    for path in names:
        try:
            one = read_rule_set(path)
        except DayFileError as error:
            errors.append(error)
            continue
        if one.id in bundled_names():
            message = "is the id of a rule set that comes with the program; give yours another"
            errors.append(_error(fspath(path), one, message))
        elif one.id in found:
            message = f"is the id of the rule set in {found[one.id][0]} too; give each set its own, and each file once"
            errors.append(_error(fspath(path), one, message))
        else:
            found[one.id] = (fspath(path), one)
    return tuple(one for _, one in found.values()), tuple(errors)


def _error(path: str, rule_set: RuleSet, message: str) -> DayFileError:
    return DayFileError(path, (Fault(None, "id", f'"{rule_set.id}"', message),))


def with_own_sets(day: WeighDay, own: Sequence[RuleSet], file: str) -> WeighDay:
    """The day with more rule sets chosen, behind those that its file chooses; ``file`` names it in messages.

    Raises
    ------
    DayFileError: two sets exclude each other, or have rules of one id; all of that at once.
    """
    sets = (*day.rules.sets, *own)
    faults = [
        Fault(None, "--rules", later.id, f"excludes {earlier.id!r}, which is chosen too: only one of the two can hold")
        for _, earlier, later in clashes(sets)
    ]
    owners: dict[str, str] = {}
    for one in sets:
        for rule in one.rules:
            before = owners.setdefault(rule.id, one.id)
            if before != one.id:
                message = f"has a rule {rule.id!r}, and so has {before!r}; give each rule an id of its own"
                faults.append(Fault(None, "--rules", one.id, message))
    if faults:
        raise DayFileError(file, tuple(faults))
    return replace(day, rules=replace(day.rules, sets=sets))
