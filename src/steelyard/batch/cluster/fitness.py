"""Whether scheduler and workers can do the work: the same versions as here, and the folder of answers in sight.

Parts must come out the same to the byte wherever they are done, for a part may be done twice. So workers have the same
versions of what makes the bytes, and not only of the program.
"""

from __future__ import annotations

import importlib.metadata
import sys
from collections.abc import Mapping, Sequence
from typing import Any

from steelyard import __version__
from steelyard.batch.cluster.on_worker import Ticket, not_seen, unfit, version
from steelyard.batch.engine import NoWorkersError

ANSWERS_WITHIN = 30.0
"""s in which scheduler and workers answer a question, however busy."""

PACKAGES = ("dask", "distributed", "numpy", "scipy", "pyarrow")
"""Libraries that must be of one version everywhere: they carry the work, or make its bytes."""

ON_SCHEDULER = ("dask", "distributed")

_SHOWN = 5  # workers that a message names
_TOO_LATE = (OSError, TimeoutError)


def own_versions() -> dict[str, str | None]:
    """The versions here, as ``versions_of`` has them."""
    return {"python": _minor(".".join(map(str, sys.version_info))), **{name: _installed(name) for name in PACKAGES}}


def _installed(package: str) -> str | None:
    try:
        return importlib.metadata.version(package)
    except importlib.metadata.PackageNotFoundError:
        return None


def _minor(python: str) -> str:
    return ".".join(python.split(".")[:2])


def versions_of(told: Mapping[str, Any], packages: Sequence[str] = PACKAGES) -> dict[str, str | None]:
    """The versions that matter among those that a worker told, as Dask hands them on."""
    known: Mapping[str, Any] = told.get("packages", {})
    return {"python": _minor(str(known.get("python"))), **{name: known.get(name) for name in packages}}


def difference(here: Mapping[str, str | None], there: Mapping[str, str | None]) -> str | None:
    """The first thing that another machine has in another version, in words; None where there is none."""
    for name, found in there.items():
        if found != here[name]:
            shown = "Python" if name == "python" else name
            return f"has {shown} {found}, not {here[name]}" if found is not None else f"has no {shown}"
    return None


def refuse_scheduler(client: Any, address: str) -> None:
    """See that the scheduler can hand on the work of this program.

    Raises
    ------
    NoWorkersError: it cannot, or does not answer.
    """
    packages = list(PACKAGES)
    try:
        told = client.sync(client.scheduler.versions, packages=packages, callback_timeout=ANSWERS_WITHIN)
        reason = difference(own_versions(), versions_of(told, ON_SCHEDULER))
        if reason is None:
            try:
                found = client.run_on_scheduler(version, callback_timeout=ANSWERS_WITHIN)
            except _TOO_LATE:
                raise
            except Exception:  # noqa: BLE001 - whatever came of it: it does not know a function of this program
                found = None
            reason = _other_program(found)
    except _TOO_LATE:
        raise NoWorkersError(f"{address}: the scheduler does not answer") from None
    if reason is not None:
        raise NoWorkersError(f"{address}: the scheduler {reason}; {_SAME}")


_SAME = "install the same on every machine"


def _other_program(found: str | None) -> str | None:
    if found == __version__:
        return None
    return f"has no Steelyard {__version__}" if found is None else f"has Steelyard {found}, not {__version__}"


def checked_workers(
    client: Any, ticket: Ticket, workers: Sequence[str], inputs: Sequence[str] = ()
) -> dict[str, str | None]:
    """Why each of some workers cannot do the work, or None; those that do not answer now are not among them.

    Parameters
    ----------
    ticket: what they must have and see. inputs: files that they must see too.

    Raises
    ------
    OSError, TimeoutError: the scheduler does not answer.
    """
    here, found = own_versions(), dict[str, str | None]()
    ask = {"op": "versions", "packages": list(PACKAGES)}
    told: dict[str, Any] = client.sync(
        client.scheduler.broadcast, msg=ask, workers=list(workers), on_error="return", callback_timeout=ANSWERS_WITHIN
    )
    for address, versions in told.items():
        if not isinstance(versions, Exception):  # it is sent nothing yet that another Python may not be able to read
            found[address] = difference(here, versions_of(versions))
    for question, about in ((unfit, ticket), (not_seen, list(inputs))):
        able = [address for address, reason in found.items() if reason is None]
        answers: dict[str, Any] = {}
        if able and about:
            answers = client.run(question, about, workers=able, on_error="return", callback_timeout=ANSWERS_WITHIN)
        for address, answer in answers.items():
            if isinstance(answer, _TOO_LATE):
                del found[address]  # it is gone
            elif isinstance(answer, Exception):
                found[address] = f"has no Steelyard {__version__}"
            elif answer:
                found[address] = answer if isinstance(answer, str) else f"does not see the file {answer[0]}"
    return found


def in_words(unable: Mapping[str, str], names: Mapping[str, str]) -> str:
    """The workers that cannot do the work and why, in one sentence; ``names`` of those that have one."""
    told = [f"the worker {_named(address, names)} {reason}" for address, reason in sorted(unable.items())]
    more = f"; and {len(told) - _SHOWN} more workers" if len(told) > _SHOWN else ""
    return "; ".join(told[:_SHOWN]) + more


def _named(address: str, names: Mapping[str, str]) -> str:
    name = names.get(address, address)
    return address if name == address else f"{name} at {address}"
