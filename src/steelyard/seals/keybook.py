"""``keys.json``, the file in which a weigher publishes every public key that they have had, and what became of each."""

from __future__ import annotations

import base64
import binascii
import json
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, cast

from steelyard.dayfile import DayFileError, Fault, show_value
from steelyard.names import nearest
from steelyard.seals.ed25519 import KEY_LENGTH, PublicKeyError, check_key
from steelyard.seals.fingerprint import FingerprintError, fingerprint_of, read_fingerprint
from steelyard.seals.handover import Handover
from steelyard.seals.moment import SealTimeError, moment_text, read_moment

FORMAT = 1
LONGEST_NAME = 60
LARGEST_BOOK = 1_000_000
"""Bytes of a ``keys.json`` at most."""

REASONS = ("lost", "stolen", "ended")
"""Why a key is revoked: nobody has its private half any more, somebody else may have it, it is not used any more."""

_MOST_KEYS = 100
_MOST_FAULTS = 20
_LONGEST_STATEMENT = 1000


@dataclass(frozen=True, slots=True)
class Revocation:
    """That a key is not to be trusted any more: since when [s since 1970], and why, one of ``REASONS``."""

    at: int
    reason: str


@dataclass(frozen=True)
class PublishedKey:
    """A public key and what became of it.

    Attributes
    ----------
    public: the key [32 bytes]. made: when [s since 1970]. retired: when another took its place; None: none did.
    revoked: None where it is not. follows: the fingerprint of the key that it took the place of, and the proof of that.
    """

    public: bytes
    made: int
    retired: int | None = None
    revoked: Revocation | None = None
    follows: tuple[str, Handover] | None = None

    @cached_property
    def fingerprint(self) -> str:
        """Its fingerprint, as four groups of eight digits."""
        return fingerprint_of(self.public)

    @property
    def signs(self) -> bool:
        """Whether it may seal: it is neither retired nor revoked."""
        return self.retired is None and self.revoked is None


@dataclass(frozen=True, slots=True)
class KeyBook:
    """Everything in one ``keys.json``. ``name``: what the weigher is called; None where they do not say."""

    name: str | None
    keys: tuple[PublishedKey, ...]

    @property
    def current(self) -> PublishedKey | None:
        """The key that seals; None where every one is retired or revoked."""
        return next((key for key in reversed(self.keys) if key.signs), None)

    def of(self, fingerprint: str) -> PublishedKey | None:
        """The key with this fingerprint."""
        return next((key for key in self.keys if key.fingerprint == fingerprint), None)


def book_bytes(book: KeyBook) -> bytes:
    """A ``keys.json``, always the same for the same keys."""
    data = {"format": FORMAT, "name": book.name, "keys": [_key_data(key) for key in book.keys]}
    return (json.dumps(data, ensure_ascii=False, indent=2) + "\n").encode()


def _key_data(key: PublishedKey) -> dict[str, Any]:
    revoked = key.revoked
    follows = key.follows
    return {
        "public": text_of(key.public),
        "fingerprint": key.fingerprint,
        "made": moment_text(key.made),
        "retired": None if key.retired is None else moment_text(key.retired),
        "revoked": None if revoked is None else {"at": moment_text(revoked.at), "reason": revoked.reason},
        "follows": None
        if follows is None
        else {
            "fingerprint": follows[0],
            "signed_by_old": text_of(follows[1].by_old),
            "signed_by_new": text_of(follows[1].by_new),
        },
    }


def text_of(data: bytes) -> str:
    """Bytes as base64url without padding, as RFC 8037 writes a key."""
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


def read_book(data: bytes, file: str | os.PathLike[str]) -> KeyBook:
    """The keys in the bytes of a ``keys.json``. Whether a key truly follows another is not asked here.

    Raises
    ------
    DayFileError: with everything that is wrong with the file called ``file``.
    """
    faults: list[Fault] = []
    book: KeyBook | None = None
    try:
        whole = _json(data, faults)
    except (ValueError, RecursionError) as error:
        faults.append(Fault(getattr(error, "lineno", None), "", "", f"is no keys.json: {_reason(error)}"))
    else:
        book = _BookReader(faults).book(whole)
    if faults or book is None:
        more = len(faults) - _MOST_FAULTS
        if more > 0:
            faults[_MOST_FAULTS:] = [Fault(None, "", "", f"and {more} more faults")]
        raise DayFileError(os.fspath(file), tuple(faults))
    return book


def _reason(error: ValueError | RecursionError) -> str:
    if isinstance(error, UnicodeDecodeError):
        return "it is not written in UTF-8"
    if isinstance(error, RecursionError):
        return "it is nested too deeply"
    if isinstance(error, json.JSONDecodeError):
        return f"it is not JSON at column {error.colno}: {error.msg}"
    return str(error) if len(str(error)) < 100 else "a number in it is too long"


def _json(data: bytes, faults: list[Fault]) -> Any:
    if len(data) > LARGEST_BOOK:
        raise ValueError(f"it has more than {LARGEST_BOOK} bytes")
    doubled: list[str] = []

    def entries(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for name, value in pairs:
            if name in found:
                doubled.append(name)
            found[name] = value
        return found

    def refuse(text: str) -> float:
        raise ValueError(f"{text} is no number in JSON")

    whole = json.loads(data.decode("utf-8-sig"), object_pairs_hook=entries, parse_constant=refuse)
    faults.extend(Fault(None, "", show_value(name), "stands twice in one object") for name in dict.fromkeys(doubled))
    return whole


class _BookReader:
    """Reads JSON values into keys; notes each fault with its place and goes on."""

    def __init__(self, faults: list[Fault]) -> None:
        self._faults = faults

    def book(self, whole: Any) -> KeyBook | None:
        known = self._entries(whole, "", ("format", "name", "keys"), optional=("name",))
        if known is None:
            return None
        number = known.get("format", FORMAT)
        if type(number) is not int or number != FORMAT:
            self._fault("format", number, f"this program reads format {FORMAT}")
            return None
        name = known.get("name")
        if name is not None and not is_shown_name(name):
            self._fault("name", name, f"is no name of 1 to {LONGEST_NAME} letters on one line")
        listed = known.get("keys", [])
        if not isinstance(listed, list) or not listed:
            self._fault("keys", cast("Any", listed), "is no list of keys, with one at least")
            return None
        items = cast("list[Any]", listed)
        if len(items) > _MOST_KEYS:
            self._fault("keys", f"{len(items)} keys", f"a weigher has at most {_MOST_KEYS}")
            return None
        keys = [self._key(item, f"keys[{number}]") for number, item in enumerate(items, 1)]
        self._among(keys)
        return KeyBook(name, tuple(key for key in keys if key is not None))

    def _among(self, keys: list[PublishedKey | None]) -> None:
        """Faults of the keys among one another."""
        places: dict[str, int] = {}
        for number, key in enumerate(keys, 1):
            if key is not None and places.setdefault(key.fingerprint, number) != number:
                message = f"is the key of keys[{places[key.fingerprint]}] again; a key stands in the list once"
                self._fault(f"keys[{number}].public", text_of(key.public), message)
        if None in keys:
            return  # the one that is followed may be the one that could not be read
        for number, key in enumerate(keys, 1):
            if key is not None and key.follows is not None:
                followed = key.follows[0]
                if followed not in places or followed == key.fingerprint:
                    message = "is not the fingerprint of another key in this file"
                    self._fault(f"keys[{number}].follows.fingerprint", followed, message)

    def _key(self, value: Any, place: str) -> PublishedKey | None:
        before = len(self._faults)
        known = self._entries(
            value,
            place,
            ("public", "fingerprint", "made", "retired", "revoked", "follows"),
            optional=("retired", "revoked", "follows"),
        )
        if known is None:
            return None
        public = self._public(known, place)
        self._fingerprint(known, place, public)
        made = self._moment(known, "made", place)
        retired = self._moment(known, "retired", place)
        revoked = self._revoked(known.get("revoked"), f"{place}.revoked")
        follows = self._follows(known.get("follows"), f"{place}.follows")
        if len(self._faults) > before or public is None or made is None:
            return None
        return PublishedKey(public, made, retired, revoked, follows)

    def _public(self, known: Mapping[str, Any], place: str) -> bytes | None:
        if "public" not in known:
            return None
        public = self._bytes(known["public"], f"{place}.public", KEY_LENGTH)
        if public is None:
            return None
        try:
            check_key(public)
        except PublicKeyError as error:
            return self._fault(f"{place}.public", known["public"], str(error))
        return public

    def _fingerprint(self, known: Mapping[str, Any], place: str, public: bytes | None) -> None:
        found = self._read_fingerprint(known.get("fingerprint"), f"{place}.fingerprint")
        if found is not None and public is not None and found != fingerprint_of(public):
            self._fault(f"{place}.fingerprint", found, f"is not that of the key, which is {fingerprint_of(public)}")

    def _read_fingerprint(self, value: Any, place: str) -> str | None:
        if value is None:
            return None
        if not isinstance(value, str):
            return self._fault(place, value, "is no fingerprint: it is not a text")
        try:
            return read_fingerprint(value)
        except FingerprintError as error:
            return self._fault(place, value, str(error))

    def _moment(self, known: Mapping[str, Any], name: str, place: str) -> int | None:
        value = known.get(name)
        if value is None:
            return None
        if not isinstance(value, str):
            return self._fault(f"{place}.{name}", value, "is not a time in UTC such as 2026-11-30T12:00:00Z")
        try:
            return read_moment(value)
        except SealTimeError as error:
            return self._fault(f"{place}.{name}", value, str(error))

    def _revoked(self, value: Any, place: str) -> Revocation | None:
        if value is None:
            return None
        known = self._entries(value, place, ("at", "reason"))
        if known is None:
            return None
        at, reason = self._moment(known, "at", place), known.get("reason")
        if reason is not None and reason not in REASONS:
            return self._fault(f"{place}.reason", reason, f"is none of {', '.join(REASONS)}")
        return None if at is None or reason is None else Revocation(at, reason)

    def _follows(self, value: Any, place: str) -> tuple[str, Handover] | None:
        if value is None:
            return None
        known = self._entries(value, place, ("fingerprint", "signed_by_old", "signed_by_new"))
        if known is None:
            return None
        fingerprint = self._read_fingerprint(known.get("fingerprint"), f"{place}.fingerprint")
        statements = [
            self._bytes(known.get(name), f"{place}.{name}", _LONGEST_STATEMENT)
            for name in ("signed_by_old", "signed_by_new")
        ]
        if fingerprint is None or statements[0] is None or statements[1] is None:
            return None
        return fingerprint, Handover(statements[0], statements[1])

    def _bytes(self, value: Any, place: str, most: int) -> bytes | None:
        if value is None:
            return None
        if not isinstance(value, str) or not re.fullmatch(r"[A-Za-z0-9_-]+", value) or len(value) > 2 * most:
            return self._fault(place, value, "is not in base64url, the letters A-Z, a-z, 0-9, - and _ without padding")
        try:
            data = base64.urlsafe_b64decode(value + "=" * (-len(value) % 4))
        except (binascii.Error, ValueError):
            return self._fault(place, value, "is no base64url: a letter is missing or one too many")
        return data if text_of(data) == value else self._fault(place, value, "is no base64url in its one form")

    def _entries(
        self, value: Any, place: str, names: tuple[str, ...], optional: tuple[str, ...] = ()
    ) -> dict[str, Any] | None:
        """The entries of an object; other names, and null where something is wanted, are faults."""
        if not isinstance(value, dict):
            return self._fault(place, value, f"is no object with {', '.join(names)}")
        found = cast("dict[str, Any]", value)
        for name in found:
            if name not in names:
                near = nearest(name, names) if len(name) < LONGEST_NAME else None
                ending = f"there are {', '.join(names)}" if near is None else f"did you mean {near!r}?"
                self._fault(place, name, f"is not an entry here; {ending}")
        for name in names:
            if name not in optional and found.get(name) is None:
                self._faults.append(Fault(None, f"{place}.{name}" if place else name, "", "is missing"))
        return found

    def _fault(self, place: str, value: Any, message: str) -> None:
        self._faults.append(Fault(None, place, show_value(value), message))


def is_shown_name(name: object) -> bool:
    """Whether a value may be the name that a weigher shows: a text of 1 to 60 letters, on one line, none unseen."""
    return isinstance(name, str) and bool(name.strip()) and len(name) <= LONGEST_NAME and name.isprintable()
