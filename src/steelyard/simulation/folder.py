"""A folder of simulated days: what lies in it, and what its first file says of all the others.

    FOLDER/simulation.json                 version, seed, how many, slips, digest of the day they are like
    FOLDER/like.toml                       that day, to the byte
    FOLDER/days/0001.toml                  the days, as 'steelyard batch FOLDER/days' takes them
    FOLDER/truth/0001.json                 for each the true value of every finding
    FOLDER/answers/0001.txt                the same for people, to be handed out later
    FOLDER/SHA256SUMS                      digests of what must not change: the day they are like, and every truth

or, for many days, ``days/``, ``truth/`` and ``slips/`` with ``part-00001.parquet`` and so on.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from steelyard import __version__
from steelyard.batch.parquet import write_whole
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.sums import add_digests

ABOUT, LIKE = "simulation.json", "like.toml"
DAYS, TRUTH, ANSWERS, SLIPS = "days", "truth", "answers", "slips"

PART = 1000
"""Days of one part."""

MOST_FILES = 10_000
"""So many days at most are written as files of their own; more are read by nobody, and want Parquet."""


@dataclass(frozen=True, slots=True)
class SimulatedSeries:
    """Properties common to all days of a folder.

    Attributes
    ----------
    program: version that drew them. digest: SHA-256 of the day they are like, in hexadecimal. slips: share of the days
    with a slip [1]. parquet: whether they lie in parts.
    """

    program: str
    seed: int
    count: int
    slips: float
    like: str
    digest: str
    parquet: bool
    format: int = 1

    @property
    def parts(self) -> int:
        """How many parts there are; a folder of files has one for each ``PART`` files too."""
        return -(-self.count // PART)

    def numbers(self, part: int) -> range:
        """The numbers of the days of a part, both counted from 1."""
        return range((part - 1) * PART + 1, min(part * PART, self.count) + 1)

    def name(self, number: int) -> str:
        """Name of the files of a day, before the dot."""
        return f"{number:0{max(4, len(str(self.count)))}d}"

    def source(self, number: int) -> str:
        """Where a day that lies in a part says it came from."""
        return f"seed-{self.seed}/{self.name(number)}"


def sealed_names(simulation: SimulatedSeries, part: int) -> tuple[str, ...]:
    """The files of a part, counted from 1, whose digests are kept, by their names in the folder.

    A day that is a file of its own has its digest in its truth.
    """
    if not simulation.parquet:
        return tuple(f"{TRUTH}/{simulation.name(number)}.json" for number in simulation.numbers(part))
    tables = (DAYS, TRUTH, SLIPS) if simulation.slips else (DAYS, TRUTH)
    return tuple(part_path(Path(), table, part).as_posix() for table in tables)


def like_bytes(folder: Path, simulation: SimulatedSeries) -> bytes:
    """The text of the day that the others are like.

    Raises
    ------
    SimulationError: it is not there, or was changed since.
    """
    path = folder / LIKE
    try:
        text = path.read_bytes()
    except OSError as error:
        raise SimulationError(f"{path}: cannot be read: {error.strerror or error}; put it back from a copy") from None
    if hashlib.sha256(text).hexdigest() != simulation.digest:
        raise SimulationError(f"{path}: was changed since the days were made like it; put it back from a copy")
    return text


def part_path(folder: Path, table: str, part: int) -> Path:
    """The file of a table of a part, which is counted from 1."""
    return folder / table / f"part-{part:05d}.parquet"


def simulation_of(text: bytes, *, seed: int, count: int, slips: float, like: str, parquet: bool) -> SimulatedSeries:
    """The properties of a folder of days like the one with this text; ``like`` is the name of its file."""
    digest = hashlib.sha256(text).hexdigest()
    return SimulatedSeries(__version__, seed, count, slips, Path(like).name, digest, parquet)


def begin(folder: Path, simulation: SimulatedSeries, text: bytes) -> bool:
    """Make the folder, or see that it is the same simulation that was begun earlier; whether it was.

    Raises
    ------
    SimulationError: the folder holds something else, which is kept, or cannot be written.
    """
    try:
        if folder.is_dir() and any(folder.iterdir()):
            found = _read(folder) if (folder / ABOUT).is_file() else None
            if found != simulation:
                why = (
                    "is not empty" if found is None else f"holds other simulated days ({_differing(found, simulation)})"
                )
                raise SimulationError(f"{folder}: {why}, and nothing is written over; name a new folder with -o")
            return True
        if folder.exists() and not folder.is_dir():
            raise SimulationError(f"{folder}: is not a folder; name a new folder with -o")
        for table in (DAYS, TRUTH) if simulation.parquet else (DAYS, TRUTH, ANSWERS):
            (folder / table).mkdir(parents=True, exist_ok=True)
        if simulation.parquet and simulation.slips:
            (folder / SLIPS).mkdir(exist_ok=True)
        write_whole(folder / LIKE, text)
        add_digests(folder, {LIKE: simulation.digest})
        write_whole(folder / ABOUT, (json.dumps(asdict(simulation), indent=2) + "\n").encode())
    except OSError as error:
        raise SimulationError(f"{folder}: cannot be written: {error.strerror or error}") from None
    return False


def _differing(found: SimulatedSeries, wanted: SimulatedSeries) -> str:
    """In what two simulations differ, in words."""
    told = [asdict(one) | {"slips": f"in {100.0 * one.slips:g} of 100"} for one in (found, wanted)]
    pairs = [(key, value, told[1][key]) for key, value in told[0].items()]
    return ", ".join(
        f"{key} {value}, not {other}" for key, value, other in pairs if value != other and key != "digest"
    ) or ("another day of that name")


def read_simulation(folder: Path) -> SimulatedSeries:
    """Read the properties common to the days of a folder.

    Raises
    ------
    SimulationError: the folder is no folder of simulated days.
    """
    if not (folder / ABOUT).is_file():
        raise SimulationError(f"{folder}: holds no simulated days; name a folder that 'steelyard simulate' wrote")
    return _read(folder)


def _read(folder: Path) -> SimulatedSeries:
    try:
        data: dict[str, Any] = json.loads((folder / ABOUT).read_bytes())
        found = SimulatedSeries(**data)
        kinds = (str, int, int, float, str, str, bool, int)
        sound = all(isinstance(value, kind) for value, kind in zip(asdict(found).values(), kinds, strict=True))
    except OSError as error:
        raise SimulationError(f"{folder / ABOUT}: cannot be read: {error.strerror or error}") from None
    except (ValueError, TypeError, AttributeError):
        message = "is not what 'steelyard simulate' writes; take it from a copy, or simulate anew"
        raise SimulationError(f"{folder / ABOUT}: {message}") from None
    if not sound or found.count < 1 or found.format != 1:
        raise SimulationError(f"{folder / ABOUT}: is of another form; this version reads format 1 with one day or more")
    return found
