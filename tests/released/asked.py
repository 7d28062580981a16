"""The questions whose answers are kept in ``answers/``, each asked of the command, or of the station in this process.

An answer is kept with one entry on a line, so that a change shows as the lines that changed.
"""

from __future__ import annotations

import asyncio
import json
import tempfile
from collections.abc import Callable, Iterator
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.cli.days import ROOT, run
from tests.released.roots import without_axes
from tests.web.house import HERE_ORIGIN, House, Role, ask, open_house

ANSWERS = Path(__file__).parent / "answers"

BAKERY, SLIP, HIVES = (f"examples/{name}.toml" for name in ("quay-bakery", "quay-bakery-slip", "hives"))
TRAIN, QUARRY = (f"tests/released/{name}.toml" for name in ("train", "format-1-0.1.0"))
SEAL = "tests/released/format-1.seal"  # of the bakery, by a key of the tests; a seal of this form is read for ever
PADS = ("examples/pads-2025.toml", "examples/pads-2026.toml")
LOG = "examples/quay-bakery-sweep.csv"

COMMANDS: dict[str, tuple[str, ...]] = {
    "findings": ("findings", BAKERY),
    "findings-hives": ("findings", HIVES, "--state", "hitched", "--state", "loaded", "--units", "lb,in"),
    "findings-slip": ("findings", SLIP, "--state", "hitched"),
    "findings-train": ("findings", TRAIN, "--change", "alone>train"),
    "findings-quarry": ("findings", QUARRY, "--state", "solo", "--state", "slack"),
    "whatif": ("whatif", BAKERY, "--from", "levelled", "--add", "850 lb on truck at 200 in, 0 in", "--set",
               "water.level=100 %"),
    "whatif-slip": ("whatif", SLIP, "--from", "solo", "--remove", "baker"),
    "whatif-train": ("whatif", TRAIN, "--from", "train", "--put-on", "sacks", "--name", "fuller"),
    "ledger": ("ledger", BAKERY, "--state", "levelled", "--since", "hitched"),
    "ledger-slip": ("ledger", SLIP, "--state", "hitched"),
    "distribute": ("distribute", BAKERY, "--state", "levelled", "--restore", "50 %"),
    "distribute-slip": ("distribute", SLIP, "--state", "levelled", "--restore", "100 %"),
    "trailer": ("trailer", BAKERY, "--from", "solo"),
    "rebalance": ("rebalance", BAKERY, "--state", "market", "--couple", "oven:0 lb*in..40000 lb*in"),
    "rebalance-train": ("rebalance", TRAIN, "--state", "sacked"),
    "site": ("site", BAKERY),
    "site-train": ("site", TRAIN),
    "plan": ("plan", BAKERY, "--pads", "p1,p2,p3,p4", "--want", "hitched/coupling/load <= 20 lb", "--no-more"),
    "sweep": ("sweep", BAKERY, LOG, "--state", "solo", "--at", "ball", "--height-division", "0.05 in"),
    "check": ("check", BAKERY),
    "history/bakery": ("history", BAKERY),
    "authenticate/bakery": ("authenticate", SEAL, "--fingerprint", "56475aa7 5463474c 0285df5d bf2bcab7"),
    "verify": ("verify", *PADS),
    "coverage/puppets": ("coverage", "tests/released/simulated"),
    "summary/puppets": ("summary", "FOLDER", "--quantity", "left_share", "--quantity", "room"),
    "rules/puppets": ("rules", "examples/puppet-van.toml"),
    "rules/club": ("rules", HIVES, "--rules", "tests/rules/club.toml"),
    "compare": ("compare", BAKERY, HIVES, "--units", "lb,in"),
    "match": ("match", BAKERY, HIVES, "--units", "lb,in"),
}  # fmt: skip
"""Each answer's name, with its folder where it has one, and the command that gives it, but for ``--json``."""

BEFORE: dict[str, tuple[str, ...]] = {
    "summary": ("batch", "tests/released/simulated/days", "--jobs", "1", "--quiet", "-o", "FOLDER"),
}
"""By a command, the one that fills the new ``FOLDER`` that it looks into."""

REQUESTS: dict[str, tuple[str, dict[str, Any]]] = {
    "influence": ("influence", {"from": "levelled"}),
    "loadmap": ("loadmap", {"state": "levelled", "on": "truck", "grid": [12, 5], "item": "1500 lb"}),
}
"""Each answer's name, the end of its address and what is sent, for what no command prints as JSON."""

_ASKER = Role("a reader", True, frozenset(), frozenset(), session="look", origin=HERE_ORIGIN)


@dataclass(frozen=True)
class Kept:
    """An answer that is kept: its file, and what gives it anew."""

    name: str
    ask: Callable[[], str]

    @property
    def path(self) -> Path:
        """Its file."""
        return ANSWERS / f"{self.name}.json"


def kept_answers() -> Iterator[Kept]:
    """Every answer that is kept."""
    for name, command in COMMANDS.items():
        yield Kept(name, lambda command=command: _of_command(*command))
    for name, (end, body) in REQUESTS.items():
        yield Kept(name, lambda end=end, body=body: _of_station(end, body))


def _of_command(*command: str) -> str:
    with tempfile.TemporaryDirectory() as place, chdir(ROOT):
        folder = f"{place}/FOLDER"
        for words in (BEFORE.get(command[0]), (*command, "--json")):
            result = run(*(folder if word == "FOLDER" else word for word in words or ("--version",)))
            assert result.exit_code == 0, result.output
    return "".join(laid_out(line.replace(folder, "FOLDER")) for line in result.stdout.splitlines())


def _of_station(end: str, body: dict[str, Any]) -> str:
    with tempfile.TemporaryDirectory() as folder, open_house(Path(folder)) as house:
        text = asyncio.run(_post(house, end, body)).replace(house.day_id, "DAY")
    return laid_out(_dense(without_axes(json.loads(text))) if end == "influence" else text)


async def _post(house: House, end: str, body: dict[str, Any]) -> str:
    address = f"/api/v1/days/{house.day_id}/{end}"
    status, _, answer = await ask(
        house.app, "POST", address, house.headers(_ASKER), here=True, body=json.dumps(body).encode()
    )
    assert status == 200, answer
    return answer.decode()


def laid_out(text: str) -> str:
    """JSON with each key, and each item of a list of objects, on a line of its own.

    It is checked that nothing else about the text changes by that.
    """
    data: dict[str, Any] = json.loads(text)
    assert text.strip() in (_dense(data, ascii_only=True), _dense(data)), "not as this program writes JSON"
    return "{" + ",\n ".join(f"{_dense(key)}: {_value(value)}" for key, value in data.items()) + "}\n"


def _value(value: Any) -> str:
    if isinstance(value, list) and value and isinstance(value[0], (dict, list)):
        items: list[Any] = list(value)  # pyright: ignore[reportUnknownArgumentType]
        return "[\n  " + ",\n  ".join(_dense(item) for item in items) + "]"
    return _dense(value)


def _dense(value: Any, *, ascii_only: bool = False) -> str:
    return json.dumps(value, ensure_ascii=ascii_only, allow_nan=False, separators=(",", ":"))
