"""The keys that a reader knows: those that were given, and those of this computer's own weighers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import click

from steelyard.cli.options import say_faults
from steelyard.cli.say import say_error
from steelyard.cli.status import ExitStatus
from steelyard.seals.authenticate.plain import plain
from steelyard.seals.fingerprint import FingerprintError, read_fingerprint
from steelyard.seals.known import KNOWN, REVOKED, UNKNOWN, KeyStanding, KnownKeys, known_keys

if TYPE_CHECKING:
    from steelyard.seals.keybook import KeyBook


def standing_of(
    ctx: click.Context, keys: tuple[str, ...], fingerprints: tuple[str, ...]
) -> Callable[[bytes, int], KeyStanding]:
    """The standing of any key: by what was given, then by the keys of this computer's own weighers."""
    told, errors = known_keys(keys, [_fingerprint(text) for text in fingerprints])
    for error in errors:
        say_faults(error)
    if errors:
        ctx.exit(int(ExitStatus.BAD_INPUT))

    mine = cache(_own_keys)  # read once, and only where a key is not known otherwise

    def standing(public: bytes, when: int) -> KeyStanding:
        found = told.standing(public, when)
        if found.state == REVOKED:
            return found
        own = mine().standing(public, when)
        if found.state != UNKNOWN:
            return own if own.state == REVOKED else found
        if own.state != KNOWN:
            return found if own.state == UNKNOWN else own
        return replace(own, state="own", why="It is your own key.")

    return standing


def _fingerprint(text: str) -> str:
    try:
        return read_fingerprint(text)
    except FingerprintError as error:
        raise click.BadParameter(f"'{plain(text)}' {error}", param_hint="'--fingerprint'") from None


def _own_keys() -> KnownKeys:
    """The keys of the weighers on this computer; what cannot be read of them is left out."""
    from steelyard.seals.files import KeyFileError
    from steelyard.seals.ring import KeyRing, keys_folder

    books: list[tuple[str, KeyBook]] = []
    try:
        ring = KeyRing(keys_folder())
        for name in ring.names():
            book = ring.any_weigher(name).book()
            if book is not None:
                books.append((name, book))
    except KeyFileError as error:
        say_error(f"{error}; your own keys are not counted as known")
    return KnownKeys(books)
