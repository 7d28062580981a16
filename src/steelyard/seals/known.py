"""The keys that somebody who checks a seal was told of, and how one of them stands.

Two things tell of keys: a ``keys.json`` that the weigher publishes, and a fingerprint alone. A file that is given is
taken at its word, but for keys that only claim to follow another. Where fingerprints are given, they are the root of
all trust: a key counts only if it is one of them or is tied to one by handovers that both keys have signed.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from steelyard.dayfile import DayFileError, Limit, contents
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.handover import HandoverError, check_handover
from steelyard.seals.keybook import LARGEST_BOOK, KeyBook, PublishedKey, Revocation, read_book
from steelyard.seals.moment import moment_words

KNOWN, RETIRED, REVOKED, UNKNOWN = "known", "retired", "revoked", "unknown"

_SEVERITY = {"stolen": 2, "lost": 1, "ended": 0}
_FILE = Limit("a keys.json", LARGEST_BOOK)


@dataclass(frozen=True, slots=True)
class KeyStanding:
    """How a key stands for a seal that claims some time.

    Attributes
    ----------
    state: one of ``KNOWN``, ``RETIRED``, ``REVOKED``, ``UNKNOWN``.
    good: whether a seal of it may be trusted: the key is known and not revoked. name: of the weigher, as the file says.
    since: when the key was made; until: when another took its place [s since 1970].
    revoked: when and why; the earliest time and the worst reason of all files. why: the state as a sentence.
    cautions: sentences that whoever trusts the seal should read. weigher: the same for all keys of one file, because
    their seals have one row of numbers; None where no file lists the key.
    """

    state: str
    good: bool
    why: str
    name: str | None = None
    since: int | None = None
    until: int | None = None
    revoked: Revocation | None = None
    cautions: tuple[str, ...] = ()
    weigher: str | None = None


class KnownKeys:
    """The keys of some ``keys.json`` files and some fingerprints.

    Parameters
    ----------
    books: the files, each with its name. fingerprints: as ``read_fingerprint`` gives them.
    """

    def __init__(self, books: Sequence[tuple[str, KeyBook]] = (), fingerprints: Iterable[str] = ()) -> None:
        self._books = tuple(books)
        self._fingerprints = frozenset(fingerprints)

    def __bool__(self) -> bool:
        """Whether anything was told."""
        return bool(self._books or self._fingerprints)

    def standing(self, public: bytes, when: int) -> KeyStanding:
        """How a public key stands for a seal that claims to be of ``when`` [s since 1970].

        Of files that contradict one another the worst counts.
        """
        fingerprint = fingerprint_of(public)
        entries = [(file, book, key) for file, book in self._books if (key := book.of(fingerprint)) is not None]
        if fingerprint not in self._trusted:
            return KeyStanding(
                UNKNOWN, good=False, why=self._why_unknown(fingerprint, [file for file, _, _ in entries])
            )
        if not entries:
            return KeyStanding(KNOWN, good=True, why="You gave this fingerprint.")
        name = next((book.name for _, book, _ in entries if book.name is not None), None)
        keys = [key for _, _, key in entries]
        since = min(key.made for key in keys)
        until = min((key.retired for key in keys if key.retired is not None), default=None)
        revoked = _worst(keys)
        cautions = (*self._disagreements(entries), *_claimed(when, since, until, revoked))
        weigher = entries[0][1].keys[0].fingerprint
        if revoked is not None:
            why = f"This key is revoked ({revoked.reason}) since {moment_words(revoked.at)}."
            return KeyStanding(REVOKED, False, why, name, since, until, revoked, cautions, weigher)
        if until is not None:
            why = f"This key was in use from {moment_words(since)} to {moment_words(until)}; another took its place."
            return KeyStanding(RETIRED, True, why, name, since, until, None, cautions, weigher)
        why = f"This key is in use since {moment_words(since)}."
        return KeyStanding(KNOWN, True, why, name, since, None, None, cautions, weigher)

    def _why_unknown(self, fingerprint: str, files: list[str]) -> str:
        unproved = [
            (file, self._unproved[file, fingerprint]) for file in files if (file, fingerprint) in self._unproved
        ]
        if unproved:
            file, reason = unproved[0]
            return f"{file} says that this key follows another, but does not prove it: {reason}."
        if files and self._fingerprints:
            return f"{files[0]} lists this key, but no signed handover ties it to a fingerprint that you gave."
        if files:
            return f"{files[0]} ties this key to one that is not proved to be the weigher's."
        return "Nobody told the program this key."

    @staticmethod
    def _disagreements(entries: list[tuple[str, KeyBook, PublishedKey]]) -> list[str]:
        files = " and ".join(dict.fromkeys(file for file, _, _ in entries))
        found: list[str] = []
        if len({(key.retired, key.revoked) for _, _, key in entries}) > 1:
            found.append(f"{files} contradict each other about this key; the worst of what they say counts here.")
        names = list(dict.fromkeys(book.name for _, book, _ in entries if book.name is not None))
        if len(names) > 1:
            found.append(f"{files} call the holder of this key {' and '.join(names)}.")
        return found

    @cached_property
    def _links(self) -> list[tuple[str, PublishedKey, PublishedKey]]:
        """The handovers that are proved: file, the old key, the new key."""
        return [link for link in self._claims if (link[0], link[2].fingerprint) not in self._unproved]

    @cached_property
    def _claims(self) -> list[tuple[str, PublishedKey, PublishedKey]]:
        found: list[tuple[str, PublishedKey, PublishedKey]] = []
        for file, book in self._books:
            for key in book.keys:
                old = None if key.follows is None else book.of(key.follows[0])
                if old is not None:
                    found.append((file, old, key))
        return found

    @cached_property
    def _unproved(self) -> dict[tuple[str, str], str]:
        """The keys that claim to follow another without proof: by file and fingerprint the reason."""
        found: dict[tuple[str, str], str] = {}
        for file, old, new in self._claims:
            reason = _unproved(old, new)
            if reason is not None:
                found[file, new.fingerprint] = reason
        return found

    @cached_property
    def _trusted(self) -> frozenset[str]:
        """The fingerprints of all keys that are known."""
        if self._fingerprints:
            return _reached(self._fingerprints, self._steps())
        trusted: set[str] = set()
        for file, book in self._books:
            roots = {key.fingerprint for key in book.keys if key.follows is None}
            forward = [(old.fingerprint, new.fingerprint) for name, old, new in self._links if name == file]
            trusted |= _reached(roots, forward)
        return frozenset(trusted)

    def _steps(self) -> list[tuple[str, str]]:
        """Which key vouches for which: the new one for the old one, and the old one for the new one unless a thief or a
        finder may have signed in its name.
        """
        steps: list[tuple[str, str]] = []
        for _, old, new in self._links:
            steps.append((new.fingerprint, old.fingerprint))
            revoked = _worst([key for _, book in self._books if (key := book.of(old.fingerprint)) is not None])
            if revoked is None or revoked.reason == "ended":
                steps.append((old.fingerprint, new.fingerprint))
        return steps


def known_keys(
    files: Iterable[str | os.PathLike[str]], fingerprints: Iterable[str] = ()
) -> tuple[KnownKeys, tuple[DayFileError, ...]]:
    """The keys of some ``keys.json`` files and fingerprints, and the faults of the files that cannot be read."""
    books: list[tuple[str, KeyBook]] = []
    errors: list[DayFileError] = []
    for file in files:
        try:
            books.append((os.fspath(file), read_book(contents(file, _FILE), file)))
        except DayFileError as error:
            errors.append(error)
    return KnownKeys(books, fingerprints), tuple(errors)


def _unproved(old: PublishedKey, new: PublishedKey) -> str | None:
    """Why it is not proved that one key follows another; None where it is."""
    if new.follows is None:
        return "it does not say so"
    try:
        at = check_handover(new.follows[1], old.public, new.public)
    except HandoverError as error:
        return str(error)
    return None if at == new.made else "the time of the handover is not that at which the key was made"


def _reached(roots: Collection[str], steps: Sequence[tuple[str, str]]) -> frozenset[str]:
    """Everything that steps lead to, the roots included."""
    onward: dict[str, list[str]] = {}
    for start, end in steps:
        onward.setdefault(start, []).append(end)
    found, open_ = set(roots), list(roots)
    while open_:
        for end in onward.get(open_.pop(), []):
            if end not in found:
                found.add(end)
                open_.append(end)
    return frozenset(found)


def _worst(keys: Iterable[PublishedKey]) -> Revocation | None:
    revoked = [key.revoked for key in keys if key.revoked is not None]
    if not revoked:
        return None
    return Revocation(
        min(item.at for item in revoked), max((item.reason for item in revoked), key=_SEVERITY.__getitem__)
    )


def _claimed(when: int, since: int, until: int | None, revoked: Revocation | None) -> list[str]:
    """Cautions about the time that a seal claims."""
    cautions: list[str] = []
    if when < since:
        cautions.append(
            f"The seal claims {moment_words(when)}, before the key was made: a clock was wrong, or the file is."
        )
    if revoked is not None:
        claim = f"The seal claims {moment_words(when)}"
        if when >= revoked.at:
            cautions.append(f"{claim}, after the key was revoked.")
        elif revoked.reason == "ended":
            cautions.append(
                f"{claim}, before the key was revoked. That time is only claimed, by the weigher's own clock."
            )
        else:
            cautions.append(
                f"{claim}, before the key was revoked. That time is only claimed: whoever has the private key can "
                "claim any."
            )
    elif until is not None and when > until:
        cautions.append(
            f"The seal claims {moment_words(when)}, after another key took the place of this one. Ask the weigher why."
        )
    return cautions
