"""The station: what can be done with weigh days, for pages and programs alike. No arithmetic, no HTML, no HTTP.

Everything waits politely: the database in threads of its own, the findings in others, so that keeping a draft waits
for nothing but the disk.
"""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import AsyncGenerator, Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from steelyard.capture import LinePattern, Port, pattern_to_json
from steelyard.dayfile import (
    Part,
    read_cargo,
    read_correction,
    read_draft,
    read_state,
    write_cargo,
    write_correction,
    write_draft,
    write_state,
)
from steelyard.model import Draft, WeighDay
from steelyard.store import Appended, DayId, DaySummary, Photo, Shelf, Snapshot, Store, StoredEntry
from steelyard.units import UnitSystem
from steelyard.web.asking import Asker
from steelyard.web.book import Addition, Book, KeyTakenError, OpenDay
from steelyard.web.events import Hub, encode
from steelyard.web.live import LiveLoads
from steelyard.web.pairing import Pairing
from steelyard.web.ports import open_ports
from steelyard.web.problem import Problem, problem_of
from steelyard.web.reckon import Answer, Reckoner, changes
from steelyard.web.settings import Settings
from steelyard.web.simulate import Simulation

if TYPE_CHECKING:
    from steelyard.web.authority import Authority

_P = ParamSpec("_P")
_T = TypeVar("_T")

LONGEST_KEY = 200


class Station:
    """The use cases. Methods raise ``StoreError``, ``DayFileError`` or ``Problem``; see ``problem.problem_of``.

    Attributes
    ----------
    store: the store itself; call its methods through ``run``, for they wait for the disk.
    hub: everybody who listens. reckoner: who works out findings. asker: who asks solved days. live: the instruments.
    pairing: how devices come in. authority, trust_address: whose certificate is handed out, and where; None and empty
        where the station speaks no TLS.
    """

    def __init__(
        self,
        store: Store,
        settings: Settings,
        *,
        reckoner: Reckoner | None = None,
        ports: Sequence[Port] | None = None,
        simulation: Simulation | None = None,
        pairing: Pairing | None = None,
    ) -> None:
        self.store = store
        self.settings = settings
        self.book = Book(store)
        self.hub = Hub()
        self.live = LiveLoads(self.hub, self._ports() if ports is None else ports, simulation=simulation)
        self.pairing = Pairing("") if pairing is None else pairing
        self.authority: Authority | None = None
        self.trust_address = ""
        self.reckoner = Reckoner() if reckoner is None else reckoner
        self.asker = Asker()
        # keeping has threads of its own: whoever reads a long list must not be in its way
        self._keepers = ThreadPoolExecutor(4, thread_name_prefix="keep")
        self._readers = ThreadPoolExecutor(4, thread_name_prefix="read")
        self._loose: set[asyncio.Task[None]] = set()

    def start(self) -> None:
        """Begin to read the instruments, and have the arithmetic ready; in the event loop that will serve."""
        self.live.start()
        self.reckoner.warm()

    def _ports(self) -> tuple[Port, ...]:
        return open_ports(self.settings.instruments, self.settings.registers, self.store)

    def trust(self, authority: Authority, address: str) -> None:
        """Hand out the certificate of ``authority`` at ``address``."""
        self.authority, self.trust_address = authority, address

    async def run(self, job: Callable[_P, _T], /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
        """Run something that waits for the disk, such as a method of the store, without stopping everybody else."""
        return await _in(self._readers, lambda: job(*args, **kwargs))

    async def close(self) -> None:
        """End streams and threads, and let go of the store; what was acknowledged is in it."""
        await self.live.close()
        self.hub.close()
        self.reckoner.close()
        self.asker.close()
        for task in tuple(self._loose):
            task.cancel()
        await asyncio.to_thread(self._keepers.shutdown)
        await asyncio.to_thread(self._readers.shutdown, cancel_futures=True)
        self.store.close()

    # -- looking -----------------------------------------------------------------------------------------------------

    async def days(self, limit: int = 50, before: DayId | None = None) -> tuple[DaySummary, ...]:
        """The newest days first; only those older than ``before`` where it is given."""
        return await self.run(self.store.list_days, limit, before)

    async def day(self, day_id: DayId) -> OpenDay:
        """A day as it stands: ``seq`` and the ``day`` itself."""
        return await self.run(self.book.open, day_id)

    async def text(self, day_id: DayId) -> str:
        """A day as a weigh-day file."""
        return await self.run(self.store.day_text, day_id)

    async def snapshot(self, day_id: DayId) -> Snapshot:
        """A day as a weigh-day file, with the number of the last addition in it."""
        return await self.run(self.store.snapshot, day_id)

    async def findings(self, day_id: DayId) -> Answer:
        """The findings of a day as it stands: ``seq``, ``findings``."""
        return await self.reckoner.of(await self.day(day_id))

    @staticmethod
    def as_data(answer: Answer, units: UnitSystem | None = None) -> dict[str, Any]:
        """Findings in the published shape. Takes some milliseconds."""
        from steelyard.findings import to_data

        return to_data(answer.findings, file=f"{answer.id}.toml", units=units)

    async def history(self, day_id: DayId, after: int = 0) -> tuple[StoredEntry, ...]:
        """What was added to a day since it was imported, by whom and when."""
        return await self.run(self.store.entries, day_id, after)

    # -- keeping -----------------------------------------------------------------------------------------------------

    async def import_text(self, text: str, *, title: str | None = None) -> DayId:
        """Keep a weigh-day file as a new day."""
        return await _in(self._keepers, lambda: self.store.add_day(text, title=title))

    async def keep(self, day_id: DayId, draft: Mapping[str, Any], device: str) -> Appended:
        """Keep a draft, shaped as in the file; durable on return. A known key with the same draft is a replay."""
        data = dict(draft)
        key = _key(data)

        def make(day: WeighDay) -> str:
            return write_draft(day, read_draft(day, data))

        def same(day: WeighDay, number: int) -> bool:
            before = replace(day, drafts=day.drafts[: number - 1])
            return _alike(day.drafts[number - 1], read_draft(before, data))

        return await self._add(day_id, Addition(Part.DRAFT, key, device, make, same))

    async def correct(self, day_id: DayId, correction: Mapping[str, Any], device: str) -> Appended:
        """Keep a correction, shaped as in the file and with a ``key`` that is not kept in it."""
        data = dict(correction)
        key = _key(data)
        del data["key"]

        def make(day: WeighDay) -> str:
            return write_correction(day, read_correction(day, data))

        def same(day: WeighDay, number: int) -> bool:
            return day.corrections[number - 1] == read_correction(replace(day, corrections=()), data)

        return await self._add(day_id, Addition(Part.CORRECTION, key, device, make, same))

    async def make_state(self, day_id: DayId, state: Mapping[str, Any], device: str) -> Appended:
        """Keep a state: ``name``, then as in the file, or ``same`` as another ``with`` and ``without`` some cargo."""
        name, key, data = _named(state)

        def make(day: WeighDay) -> str:
            return write_state(day, read_state(day, name, data))

        def same(day: WeighDay, number: int) -> bool:
            del number
            others = {other: state for other, state in day.states.items() if other != name}
            return name in day.states and day.states[name] == read_state(replace(day, states=others), name, data)

        return await self._add(day_id, Addition(Part.STATE, key, device, make, same))

    async def make_cargo(self, day_id: DayId, cargo: Mapping[str, Any], device: str) -> Appended:
        """Keep a cargo: ``name``, then as in the file (there, its ``name`` for people is ``title`` here)."""
        name, key, data = _named(cargo)
        if "title" in data:
            data["name"] = data.pop("title")

        def make(day: WeighDay) -> str:
            return write_cargo(day, read_cargo(day, name, data))

        def same(day: WeighDay, number: int) -> bool:
            del number
            others = {other: cargo for other, cargo in day.cargo.items() if other != name}
            return name in day.cargo and day.cargo[name] == read_cargo(replace(day, cargo=others), name, data)

        return await self._add(day_id, Addition(Part.CARGO, key, device, make, same))

    async def keep_photo(self, day_id: DayId, draft_key: str, photo: Photo, device: str) -> bool:
        """Keep the photo of a draft; False where it has one already, which stays."""
        return await _in(self._keepers, lambda: self.store.put_photo(day_id, draft_key, photo, device=device))

    async def teach(self, pattern: LinePattern, device: str) -> int:
        """Keep a taught pattern under its name, and read by it from now on; gives its version."""
        text = pattern_to_json(pattern)
        version = await _in(self._keepers, lambda: self.store.save(Shelf.TEACHING, pattern.name, text, device=device))
        if any(port.name == pattern.name for port in self.live.ports):
            await self.live.reopen(await self.run(self._ports))
        return version

    async def _add(self, day_id: DayId, addition: Addition) -> Appended:
        try:
            appended, opened = await _in(self._keepers, lambda: self.book.add(day_id, addition))
        except KeyTakenError:
            message = f"the key {addition.key!r} was used before for something else; that is kept and stays as it is"
            raise Problem(409, "key_taken", message) from None
        if not appended.replay:
            self._announce(opened, appended, addition)
        return appended

    # -- telling -----------------------------------------------------------------------------------------------------

    async def events(self, day_id: DayId, after: int | None = None) -> AsyncGenerator[bytes, None]:
        """What happens to a day from now on, as server-sent events; what was added since ``after`` comes first.

        Raises
        ------
        StoreError: no such day, on the call; ``Problem``: too many listen.
        """
        await self.day(day_id)
        self.hub.check_room()
        return self._stream(day_id, after)

    async def _stream(self, day_id: DayId, after: int | None) -> AsyncGenerator[bytes, None]:
        with self.hub.listening(day_id) as listener:
            opened = await self.day(day_id)
            listener.seen = opened.seq
            hello = {"seq": opened.seq, "unit": opened.day.units.mass, "drafts": len(opened.day.drafts)}
            parts = [b"retry: 1000\n\n", encode("hello", hello)]
            missed = () if after is None else await self.history(day_id, after)
            parts += [encode(*_told(opened, entry), entry.seq) for entry in missed if entry.seq <= opened.seq]
            parts += self.live.first(opened)
            yield b"".join(parts)
            async for chunk in listener.chunks():
                yield chunk

    def _announce(self, opened: OpenDay, appended: Appended, addition: Addition) -> None:
        """Tell who listens, and have the findings worked out; nobody waits for either."""
        entry = _Told(addition.kind, appended.seq, appended.number, addition.key, addition.device)
        self.hub.tell(opened.id, *_told(opened, entry), appended.seq)
        task = asyncio.get_running_loop().create_task(self._tell_findings(opened))
        self._loose.add(task)
        task.add_done_callback(self._loose.discard)

    async def _tell_findings(self, opened: OpenDay) -> None:
        try:
            answer = await self.reckoner.of(opened)
        except Exception as error:  # noqa: BLE001 - nobody waits for this task; who asks for the findings sees it too
            self.hub.tell(opened.id, "trouble", problem_of(error).to_data())
            return
        if answer.seq == opened.seq and opened.id in self.hub.days:
            told = await self.run(changes, answer)
            self.hub.tell(opened.id, "findings", told)


@dataclass(frozen=True, slots=True)
class _Told:
    """What is told of an addition; a ``StoredEntry`` has it too."""

    kind: Part
    seq: int
    number: int
    key: str
    device: str


def _told(opened: OpenDay, entry: _Told | StoredEntry) -> tuple[str, dict[str, Any]]:
    """The event and its data that tell of an addition."""
    data: dict[str, Any] = {"seq": entry.seq, "number": entry.number, "key": entry.key, "device": entry.device}
    if entry.kind is Part.DRAFT:
        draft = opened.day.drafts[entry.number - 1]
        return "draft", data | {"state": draft.state, "title": draft.title}
    return "entry", data | {"kind": entry.kind.value}


async def _in(pool: ThreadPoolExecutor, job: Callable[[], _T]) -> _T:
    return await asyncio.get_running_loop().run_in_executor(pool, job)


def _key(data: Mapping[str, Any]) -> str:
    """The key that whoever made an addition gave it.

    Raises
    ------
    Problem: there is none, or it is none.
    """
    key = data.get("key")
    if not isinstance(key, str) or not 0 < len(key) <= LONGEST_KEY or not key.isprintable():
        message = f'needs a "key" of 1 to {LONGEST_KEY} printable letters, made by the sender and never used again'
        raise Problem(422, "no_key", message)
    return key


def _named(data: Mapping[str, Any]) -> tuple[str, str, dict[str, Any]]:
    """Name, key and the rest of a state or a cargo; without a key of its own it has one that is never used again."""
    rest = dict(data)
    name = rest.pop("name", None)
    if not isinstance(name, str):
        raise Problem(422, "no_name", 'needs a "name"')
    key = _key(rest) if "key" in rest else f"made-{secrets.token_hex(8)}"
    rest.pop("key", None)
    return name, key, rest


def _alike(one: Draft, other: Draft) -> bool:
    """Whether two drafts say the same, in whatever order their readings stand."""
    ordered = [replace(draft, number=1, readings=tuple(sorted(draft.readings, key=_place))) for draft in (one, other)]
    return ordered[0] == ordered[1]


def _place(reading: Any) -> str:
    return reading.place.text
