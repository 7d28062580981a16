"""The station: what can be done with weigh days, for pages and programs alike. No arithmetic, no HTML, no HTTP.

Everything waits politely: the database in threads of its own, the findings in others, so that keeping a draft waits
for nothing but the disk.
"""

from __future__ import annotations

import asyncio
import contextlib
import secrets
from collections.abc import AsyncGenerator, Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any, ParamSpec, TypeVar

from steelyard.capture import LinePattern, Port, pattern_to_json
from steelyard.dayfile import (
    Part,
    read_cargo,
    read_choice,
    read_correction,
    read_draft,
    read_state,
    refuse_hiding,
    write_cargo,
    write_choice,
    write_correction,
    write_draft,
    write_state,
)
from steelyard.model import Draft, Photograph, WeighDay
from steelyard.names import meant, nearest
from steelyard.store import (
    Appended,
    Away,
    DayId,
    DaySummary,
    FoundDays,
    News,
    Photo,
    Shelf,
    Snapshot,
    Store,
    StoredEntry,
    StoreError,
)
from steelyard.units import UnitSystem
from steelyard.web.settings import Settings
from steelyard.web.station.asking import Asker
from steelyard.web.station.book import Addition, Book, KeyTakenError, OpenDay
from steelyard.web.station.events import Hub, encode
from steelyard.web.station.live import LiveLoads
from steelyard.web.station.photographs import (
    HasPhotoError,
    TakenPhoto,
    draft_of_key,
    photograph,
    photograph_of_draft,
    whole_photograph,
)
from steelyard.web.station.plan_aside import Planners
from steelyard.web.station.ports import Connected, connect, routes_of, taught
from steelyard.web.station.reckon import Reckoned, Reckoner
from steelyard.web.station.recording import FEWEST_ROWS, Recording
from steelyard.web.station.refused import Refusal, RefusalError
from steelyard.web.station.renaming import retitled
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.sweeping import Sweeper
from steelyard.web.station.telling import FromElsewhere, Teller, ToldAddition, event_of
from steelyard.web.station.wiring import Wiring, read_wirings

_P = ParamSpec("_P")
_T = TypeVar("_T")

LONGEST_KEY = 200
PATIENCE = 15.0
"""s that whoever asks for findings is kept waiting, less than pages wait; then it is said how far they are."""


class Station:
    """The use cases. Methods raise ``StoreError``, ``DayFileError`` or ``RefusalError``.

    Attributes
    ----------
    store: the store itself; call its methods through ``run``, for they wait for the disk.
    hub: everybody who listens. reckoner: who works out findings. asker: who asks solved days. planners: who plans.
    live: the instruments.
    connected: the instruments as they are wired. teller: who tells the listeners what was added.
    """

    def __init__(
        self,
        store: Store,
        settings: Settings,
        *,
        reckoner: Reckoner | None = None,
        ports: Sequence[Port] | None = None,
        simulation: Simulation | None = None,
    ) -> None:
        self.store = store
        self.settings = settings
        self.book = Book(store)
        self.hub = Hub()
        self._others = () if simulation is None else (simulation.port,)
        self._ports = None if ports is None else tuple(ports)
        self.connected = self._connect()
        self.live = LiveLoads(self.hub, self.connected.ports, simulation=simulation, routes=self.connected.routes)
        self.reckoner = Reckoner() if reckoner is None else reckoner
        self.teller = Teller(self.hub, self.reckoner, self._since)
        self._news: News | None = None
        self.patience = PATIENCE
        self.asker = Asker()
        self.planners = Planners()
        self.sweeper = Sweeper()
        self.recordings: dict[DayId, Recording] = {}
        # keeping has threads of its own: whoever reads a long list must not be in its way
        self._keepers = ThreadPoolExecutor(4, thread_name_prefix="keep")
        self._readers = ThreadPoolExecutor(4, thread_name_prefix="read")

    def start(self) -> None:
        """Begin to read the instruments, and have the arithmetic ready; in the event loop that will serve."""
        self.live.start()
        self._news = self.store.news(FromElsewhere(self.teller, asyncio.get_running_loop()))
        self.reckoner.warm()

    def _connect(self) -> Connected:
        if self._ports is None:
            return connect(self.settings, self.store, self._others)
        wirings = read_wirings(self.store)
        return Connected(self._ports, wirings, {}, routes_of((*self._ports, *self._others), wirings))

    async def _connect_anew(self) -> None:
        """Read by what was chosen just now."""
        self.connected = await self.run(self._connect)
        await self.live.reopen(self.connected.ports, self.connected.routes)

    async def run(self, job: Callable[_P, _T], /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
        """Run something that waits for the disk, such as a method of the store, without stopping everybody else."""
        return await _in(self._readers, lambda: job(*args, **kwargs))

    async def close(self) -> None:
        """End streams and threads, and let go of the store; what was acknowledged is in it."""
        await self.live.close()
        await self._keep_recordings()
        self.hub.close()
        self.reckoner.close()
        self.asker.close()
        self.planners.close()
        self.sweeper.close()
        self.teller.close()
        if self._news is not None:
            await asyncio.to_thread(self._news.close)
        await asyncio.to_thread(self._keepers.shutdown)
        await asyncio.to_thread(self._readers.shutdown, cancel_futures=True)
        self.store.close()

    # -- looking -----------------------------------------------------------------------------------------------------

    async def days(
        self, limit: int = 50, before: DayId | None = None, away: Away = Away.WITHOUT
    ) -> tuple[DaySummary, ...]:
        """The newest days first; only those older than ``before`` where it is given."""
        return await self.run(self.store.list_days, limit, before, away)

    async def search(
        self, typed: str, limit: int = 50, before: DayId | None = None, away: Away = Away.WITHOUT
    ) -> FoundDays:
        """The newest days that have every word and date of what was typed, a page of them."""
        return await self.run(self.store.search_days, typed, limit, before, away)

    async def day(self, day_id: DayId) -> OpenDay:
        """A day as it stands: ``seq`` and the ``day`` itself."""
        return await self.run(self.book.open, day_id)

    async def text(self, day_id: DayId) -> str:
        """A day as a weigh-day file."""
        return await self.run(self.store.day_text, day_id)

    async def snapshot(self, day_id: DayId) -> Snapshot:
        """A day as a weigh-day file, with the number of the last addition in it."""
        return await self.run(self.store.snapshot, day_id)

    async def findings(self, day_id: DayId, wait: float | None = None) -> Reckoned:
        """The findings of a day as it stands: ``seq``, ``findings``; waits for so many seconds, or ``patience``.

        Raises
        ------
        RefusalError: they take longer than anybody should wait without a word; they go on being worked out.
        """
        opened = await self.day(day_id)
        wait = self.patience if wait is None else wait
        try:
            return await asyncio.wait_for(self.reckoner.of(opened), wait)
        except TimeoutError:
            raise self._still_reckoning(opened, wait) from None

    def _still_reckoning(self, opened: OpenDay, waited: float) -> RefusalError:
        underway = self.reckoner.underway(opened.id)
        drafts, seconds = (len(opened.day.drafts), 0.0) if underway is None else (underway.drafts, underway.seconds)
        message = (
            f"the findings of {drafts:,} draft{'' if drafts == 1 else 's'} are still being worked out, for "
            f"{max(seconds, waited):.0f} s so far; every draft is kept, ask for them again in a while"
        )
        return RefusalError(Refusal.STILL_RECKONING, message, wait=5)

    @staticmethod
    def as_data(answer: Reckoned, units: UnitSystem | None = None) -> dict[str, Any]:
        """Findings in the published shape. Takes some milliseconds."""
        from steelyard.questions.findings import findings_data

        return findings_data(answer.findings, file=f"{answer.id}.toml", units=units)

    async def _since(self, day_id: DayId, after: int) -> tuple[OpenDay, Sequence[StoredEntry]]:
        opened = await self.day(day_id)
        return opened, await self.history(day_id, after)

    async def history(self, day_id: DayId, after: int = 0) -> tuple[StoredEntry, ...]:
        """The additions to a day since it was imported, by whom and when."""
        return await self.run(self.store.entries, day_id, after)

    # -- keeping -----------------------------------------------------------------------------------------------------

    async def import_text(self, text: str, *, title: str | None = None, key: str | None = None) -> DayId:
        """Keep a weigh-day file as a new day; under a key that was used before, that day stays and is the answer."""
        return await _in(self._keepers, lambda: self.store.add_day(text, title=title, key=key))

    async def keep(self, day_id: DayId, draft: Mapping[str, Any], device: str, expect: int | None = None) -> Appended:
        """Keep a draft, shaped as in the file; durable on return. A known key with the same draft is a replay.

        ``expect``, here and below: refuse it if the day has more additions by now.
        """
        data = dict(draft)
        key = _key(data)

        def make(day: WeighDay) -> str:
            return write_draft(day, read_draft(day, data))

        def same(day: WeighDay, number: int) -> bool:
            before = replace(day, drafts=day.drafts[: number - 1])
            return _alike(day.drafts[number - 1], read_draft(before, data))

        return await self._add(day_id, Addition(Part.DRAFT, key, device, make, same, expect=expect))

    async def correct(
        self, day_id: DayId, correction: Mapping[str, Any], device: str, expect: int | None = None
    ) -> Appended:
        """Keep a correction, shaped as in the file and with a ``key`` that is not kept in it.

        Raises
        ------
        DayFileError: it does not fit the day, or would hide a state with drafts that count.
        """
        data = dict(correction)
        key = _key(data)
        del data["key"]

        def make(day: WeighDay) -> str:
            made = read_correction(day, data)
            refuse_hiding(day, made)
            return write_correction(day, made)

        def same(day: WeighDay, number: int) -> bool:
            return day.corrections[number - 1] == read_correction(replace(day, corrections=()), data)

        return await self._add(day_id, Addition(Part.CORRECTION, key, device, make, same, expect=expect))

    async def choose_rules(
        self, day_id: DayId, choice: Mapping[str, Any], device: str, expect: int | None = None
    ) -> Appended:
        """Keep a choice of rules of the road, shaped as ``[rules]`` in the file; the one before it stays on record."""
        data = dict(choice)
        key = _key(data)
        del data["key"]

        def make(day: WeighDay) -> str:
            return write_choice(read_choice(day, data))

        def same(day: WeighDay, number: int) -> bool:
            return day.rule_choices[number - 1] == read_choice(replace(day, earlier_rules=()), data)

        return await self._add(day_id, Addition(Part.CHOICE, key, device, make, same, expect=expect))

    async def rename(self, day_id: DayId, said: Mapping[str, Any], device: str, expect: int | None = None) -> Appended:
        """Keep another ``title`` of a day, which counts from now on; the one before it stays on record."""
        data = dict(said)
        key = _key(data)
        del data["key"]
        return await self._add(day_id, retitled(key, data, device, expect))

    async def make_state(
        self, day_id: DayId, state: Mapping[str, Any], device: str, expect: int | None = None
    ) -> Appended:
        """Keep a state: ``name``, then as in the file, or ``same`` as another ``with`` and ``without`` some cargo."""
        name, key, data = _named(state)

        def make(day: WeighDay) -> str:
            return write_state(day, read_state(day, name, data))

        def same(day: WeighDay, number: int) -> bool:
            del number
            others = {other: state for other, state in day.states.items() if other != name}
            return name in day.states and day.states[name] == read_state(replace(day, states=others), name, data)

        return await self._add(day_id, Addition(Part.STATE, key, device, make, same, expect=expect))

    async def make_cargo(
        self, day_id: DayId, cargo: Mapping[str, Any], device: str, expect: int | None = None
    ) -> Appended:
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

        return await self._add(day_id, Addition(Part.CARGO, key, device, make, same, expect=expect))

    async def keep_photograph(
        self, day_id: DayId, key: str, photo: Photo, taken: TakenPhoto, device: str
    ) -> tuple[Appended, Photograph]:
        """Keep a photograph of a display: the picture, and its record with its digest in the text of the day."""
        appended = await self._add(day_id, photograph(_key({"key": key}), photo, taken, device))
        return appended, (await self.day(day_id)).day.photographs[appended.number - 1]

    async def keep_photo(self, day_id: DayId, draft_key: str, photo: Photo, device: str, by: str) -> bool:
        """Keep the one photograph of a whole draft; False where it has one already, which stays."""
        addition = photograph_of_draft(draft_key, photo, device, by)
        draft_of_key((await self.day(day_id)).day, draft_key)
        if draft_key in await self.run(self.store.photo_keys, day_id):
            return False
        try:
            return not (await self._add(day_id, addition)).replay
        except HasPhotoError:
            return False

    async def photo(self, day_id: DayId, draft_key: str) -> Photo | None:
        """The first photograph of a whole draft; None where it has none."""
        older = await self.run(self.store.photo, day_id, draft_key)
        if older is not None:
            return older
        day = (await self.day(day_id)).day
        draft = next((one for one in day.drafts if one.key == draft_key), None)
        record = None if draft is None else whole_photograph(day, draft)
        return None if record is None else await self.run(self.store.picture, day_id, record.sha256)

    async def keep_log(
        self, day_id: DayId, key: str, text: str, about: Mapping[str, Any], device: str
    ) -> tuple[int, bool]:
        """Keep a log of growing load beside a day, durable on return: its number, and whether it is new."""
        return await _in(self._keepers, lambda: self.store.keep_log(day_id, key, text, about=about, device=device))

    async def finish(self, day_id: DayId, recording: Recording, more: Mapping[str, str]) -> int:
        """End a recording and keep its log; its number there. It stays at hand where the store would not."""
        recording.stopped = recording.stopped or "Finished."
        self.live.hearers.discard(recording.hear)
        about = {**recording.about(), **more}
        number, _ = await self.keep_log(day_id, recording.key, recording.text(), about, recording.device)
        if self.recordings.get(day_id) is recording:
            del self.recordings[day_id]
        return number

    async def _keep_recordings(self) -> None:
        """Keep what is being recorded when the station is stopped."""
        for day_id, recording in tuple(self.recordings.items()):
            if len(recording.rows) >= FEWEST_ROWS:
                with contextlib.suppress(StoreError):
                    await self.finish(day_id, recording, {})

    async def shelve(self, shelf: Shelf, name: str, text: str, learned: Mapping[str, Any] | None, device: str) -> int:
        """Keep a version of a thing of the yard; what was learned of it stays where ``learned`` is None."""
        save = self.store.save
        return await _in(self._keepers, lambda: save(shelf, name, text, learned=learned, device=device))

    async def teach(self, pattern: LinePattern, device: str, instruments: Sequence[str] = ()) -> int:
        """Keep a taught pattern under its name, and read these instruments by it from now on; gives its version.

        Raises
        ------
        RefusalError: no such instrument, or its pattern was given when the station was started.
        """
        for name in instruments:
            self._check_choice(name, Wiring(pattern.name))
        text = pattern_to_json(pattern)
        version = await _in(self._keepers, lambda: self.store.save(Shelf.TEACHING, pattern.name, text, device=device))
        for name in instruments:
            await self._keep_wiring(name, replace(self.wiring(name), pattern=pattern.name), device)
        await self._connect_anew()
        return version

    def wiring(self, name: str) -> Wiring:
        """The present choices for an instrument."""
        return self.connected.wirings.get(name, Wiring())

    async def wire(self, name: str, wiring: Wiring, device: str) -> None:
        """Choose the pattern of an instrument and the pads of its channels; kept, and read by from now on.

        Raises
        ------
        RefusalError: no such instrument or pattern, a pad of another channel, or what was given at the start.
        """
        self._check_choice(name, wiring)
        if wiring.pattern is not None and await self.run(taught, self.store, wiring.pattern) is None:
            taught_names = [kept.name for kept in await self.run(self.store.shelf, Shelf.TEACHING)]
            near = nearest(wiring.pattern, taught_names)
            hint = "teach it first" if near is None else f"did you mean {near!r}?"
            raise RefusalError(Refusal.NO_SUCH_PATTERN, f"no pattern {wiring.pattern!r} was taught; {hint}")
        await self._keep_wiring(name, wiring, device)
        await self._connect_anew()

    def _check_choice(self, name: str, wiring: Wiring) -> None:
        names = [port.name for port in self.connected.ports]
        if name not in names:
            hint = meant(name[:40], names, "connected are")
            raise RefusalError(Refusal.NO_SUCH_INDICATOR, f"no instrument {name[:40]!r} is connected; {hint}")
        given = self.connected.given.get(name, Wiring())
        if given.pattern is not None and wiring.pattern not in (None, given.pattern):
            message = f"{name} was started with the pattern {given.pattern}; to choose here, start it without that"
            raise RefusalError(Refusal.GIVEN_AT_START, message)
        for channel, pad in given.pads.items():
            if wiring.pads.get(channel, pad) != pad:
                message = f"{channel} of {name} was started as {pad}; to choose here, start it without that"
                raise RefusalError(Refusal.GIVEN_AT_START, message)
        for other in names:
            for channel, pad in self.wiring(other).pads.items() if other != name else ():
                if pad in wiring.pads.values():
                    message = f"{pad} is {channel} of {other} already; take it from there first"
                    raise RefusalError(Refusal.PAD_TAKEN, message)

    async def _keep_wiring(self, name: str, wiring: Wiring, device: str) -> None:
        text = wiring.to_json()
        await _in(self._keepers, lambda: self.store.save(Shelf.WIRING, name, text, device=device))

    async def _add(self, day_id: DayId, addition: Addition) -> Appended:
        try:
            appended, opened = await _in(self._keepers, lambda: self.book.add(day_id, addition))
        except KeyTakenError:
            message = f"the key {addition.key!r} was used before for something else; that is kept and stays as it is"
            raise RefusalError(Refusal.KEY_TAKEN, message) from None
        if not appended.replay:
            told = ToldAddition(addition.kind, appended.seq, appended.number, addition.key, addition.device)
            self.teller.kept(opened, told)
        return appended

    # -- telling -----------------------------------------------------------------------------------------------------

    async def events(self, day_id: DayId, after: int | None = None) -> AsyncGenerator[bytes, None]:
        """The events of a day from now on, as server-sent events; additions since ``after`` come first.

        Raises
        ------
        StoreError: no such day, on the call; ``RefusalError``: too many listen.
        """
        await self.day(day_id)
        self.hub.check_room()
        return self._stream(day_id, after)

    async def _stream(self, day_id: DayId, after: int | None) -> AsyncGenerator[bytes, None]:
        with self.hub.listening(day_id) as listener:
            opened = await self.day(day_id)
            listener.seen = max(listener.seen, opened.seq)
            self.teller.heard(opened)
            hello = {"seq": opened.seq, "unit": opened.day.units.mass, "drafts": len(opened.day.drafts)}
            parts = [b"retry: 1000\n\n", encode("hello", hello)]
            missed = () if after is None else await self.history(day_id, after)
            parts += [encode(*event_of(opened, entry), entry.seq) for entry in missed if entry.seq <= opened.seq]
            parts += self.live.first(opened)
            if self.teller.trouble is not None:
                parts.append(encode("store", {"there": False, "error": self.teller.trouble}))
            yield b"".join(parts)
            async for chunk in listener.chunks():
                yield chunk


async def _in(pool: ThreadPoolExecutor, job: Callable[[], _T]) -> _T:
    return await asyncio.get_running_loop().run_in_executor(pool, job)


def _key(data: Mapping[str, Any]) -> str:
    """The key that whoever made an addition gave it.

    Raises
    ------
    RefusalError: there is none, or it is none.
    """
    key = data.get("key")
    if not isinstance(key, str) or not 0 < len(key) <= LONGEST_KEY or not key.isprintable():
        message = (
            f'the body needs a "key" of 1 to {LONGEST_KEY} printable letters, made by the sender and never used again'
        )
        raise RefusalError(Refusal.NO_KEY, message)
    return key


def _named(data: Mapping[str, Any]) -> tuple[str, str, dict[str, Any]]:
    """Name, key and the rest of a state or a cargo; without a key of its own it has one that is never used again."""
    rest = dict(data)
    name = rest.pop("name", None)
    if not isinstance(name, str):
        raise RefusalError(Refusal.NO_NAME, 'the body needs a "name", a text of letters, digits, - and _')
    key = _key(rest) if "key" in rest else f"made-{secrets.token_hex(8)}"
    rest.pop("key", None)
    return name, key, rest


def _alike(one: Draft, other: Draft) -> bool:
    """Whether two drafts say the same, in whatever order their readings stand."""
    ordered = [replace(draft, number=1, readings=tuple(sorted(draft.readings, key=_place))) for draft in (one, other)]
    return ordered[0] == ordered[1]


def _place(reading: Any) -> str:
    return reading.place.text
