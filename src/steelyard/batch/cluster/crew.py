"""The workers that are given work: each was asked whether it can do it, those that join later too."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from steelyard.batch.cluster.fitness import ANSWERS_WITHIN, checked_workers, in_words
from steelyard.batch.cluster.on_worker import Ticket
from steelyard.batch.engine import NoWorkersError

Note = Callable[[str], None]

_REMEDY = "all machines need the same versions, and the folders by the same paths"


class Crew:
    """The workers of a scheduler that can do the work.

    Parameters
    ----------
    ticket: what they must have and see. inputs: files that they must see. note: is told whom nothing is given, and
    that nobody is there.
    """

    def __init__(self, client: Any, address: str, ticket: Ticket, inputs: Sequence[str], note: Note) -> None:
        self._client, self._address, self._ticket, self._inputs, self._note = client, address, ticket, inputs, note
        self._known: dict[str, str | None] = {}
        self._threads: dict[str, int] = {}
        self._missed = False

    @property
    def fit(self) -> dict[str, int]:
        """The threads of each worker that can do the work and was there at the last look."""
        return {address: threads for address, threads in self._threads.items() if self._known.get(address, "") is None}

    def look(self) -> None:
        """See who is there, and ask those that are new.

        Raises
        ------
        OSError, TimeoutError: the scheduler does not answer. NoWorkersError: of those that are there none can do it.
        """
        self._see()
        unable = self._unable()
        for address, reason in self._ask_new().items():
            if reason is not None:
                unable[address] = reason
                told = in_words({address: reason}, self._names())
                self._note(f"{told}; it is given no work. {_REMEDY.capitalize()}")
        if unable and len(unable) == len(self._threads):
            raise NoWorkersError(f"{self._address}: {in_words(unable, self._names())}; {_REMEDY}")
        if not self._threads and not self._missed:
            start = f"Start one with 'dask worker {self._address}'"
            self._note(f"{self._address} has no workers any more; waiting for one. {start}")
        self._missed = not self._threads

    def begin(self) -> None:
        """Ask everybody who is there.

        Raises
        ------
        OSError, TimeoutError: the scheduler does not answer. NoWorkersError: somebody cannot do it.
        """
        self._see()
        self._ask_new()
        unable = self._unable()
        if unable:
            raise NoWorkersError(f"{self._address}: {in_words(unable, self._names())}; {_REMEDY}")

    def ask_again(self) -> bool:
        """Ask everybody anew; whether somebody cannot do it any more. Raises as ``look``."""
        before = len(self._unable())
        self._known = {address: reason for address, reason in self._known.items() if reason is not None}
        self.look()
        return len(self._unable()) > before

    def _see(self) -> None:
        there = self._client.sync(self._client.scheduler.ncores, callback_timeout=ANSWERS_WITHIN)
        self._threads = dict(there)
        self._known = {address: reason for address, reason in self._known.items() if address in there}

    def _ask_new(self) -> dict[str, str | None]:
        new = [address for address in self._threads if address not in self._known]
        found = checked_workers(self._client, self._ticket, new, self._inputs) if new else {}
        self._known |= found
        return found

    def _unable(self) -> dict[str, str]:
        return {address: reason for address, reason in self._known.items() if reason is not None}

    def _names(self) -> dict[str, str]:
        told = self._client.sync(self._client.scheduler.identity, n_workers=-1, callback_timeout=ANSWERS_WITHIN)
        return {address: str(worker.get("name")) for address, worker in told["workers"].items()}
