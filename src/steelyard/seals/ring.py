"""The folder of keys, with a folder for each weigher: private keys, what they publish, and the log of their seals.

Everything that changes a weigher's folder holds its lock, so that two processes never give one number twice.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from steelyard.dayfile import DayFileError, show_value
from steelyard.folders import data_folder
from steelyard.names import meant
from steelyard.seals.cose import CoseError
from steelyard.seals.files import KeyFileError, locked, make_folder, read_file, unusable, write_whole
from steelyard.seals.fingerprint import bare, fingerprint_of
from steelyard.seals.handover import handed_over
from steelyard.seals.keybook import (
    LARGEST_BOOK,
    LONGEST_NAME,
    REASONS,
    KeyBook,
    PublishedKey,
    Revocation,
    book_bytes,
    is_shown_name,
    read_book,
)
from steelyard.seals.keys import PassPhrase, UnlockedKey, fresh, keep, unlock
from steelyard.seals.moment import moment_words
from steelyard.seals.record import RecordError, to_bytes
from steelyard.seals.seal_log import NAME as LOG_NAME
from steelyard.seals.seal_log import LoggedSeal, SealLog, make_log
from steelyard.seals.sealing import DayToSeal, Seal, record_of, seal_of

FIRST_WEIGHER = "weigher"
"""The name of the only weigher, where nobody gives another."""

FOLDER_VARIABLE = "STEELYARD_KEYS"
CANNOT_BE_UNDONE = (
    "Keep a copy of this folder somewhere safe. Nobody can make a lost private key again; all that is left then is to "
    "revoke it."
)

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", re.ASCII)
_BOOK, _LOCK = "keys.json", "lock"
_PUT_BACK = "Put it back from a backup, or from where you published it"
_LEAST_DIGITS = 8  # of a fingerprint that is shortened


@dataclass(frozen=True)
class GivenSeal(Seal):
    """A seal as a weigher gives it.

    Attributes
    ----------
    notes: sentences that the weigher should read. again: whether the same was sealed before, and this is that seal.
    """

    notes: tuple[str, ...] = ()
    again: bool = False


def keys_folder(given: str | os.PathLike[str] | None = None) -> Path:
    """The folder of keys: the one that is given, that of the variable ``STEELYARD_KEYS``, or one beside the store.

    Raises
    ------
    KeyFileError: it begins with the home of a person whom the system does not know.
    """
    told = given or os.environ.get(FOLDER_VARIABLE)
    try:
        return data_folder() / "keys" if not told else Path(told).expanduser()
    except RuntimeError:
        raise KeyFileError(f"{told or '~'}: the system knows no such home folder; write the whole path") from None


class KeyRing:
    """A folder of keys. It is made with the first key in it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def names(self) -> tuple[str, ...]:
        """The weighers who have a key here, in the order of their names.

        Raises
        ------
        KeyFileError: the folder cannot be read, or is not one.
        """
        try:
            return tuple(sorted(item.name for item in self.folder.iterdir() if _is_weigher(item)))
        except FileNotFoundError:
            return ()
        except OSError as error:
            raise unusable(self.folder, "read", error) from None

    def weigher(self, name: str | None = None, pass_phrase: PassPhrase | None = None) -> Weigher:
        """A weigher who has a key here; where nobody has one yet, the one who will be the first.

        Parameters
        ----------
        name: None means the only one. pass_phrase: that of their private key.

        Raises
        ------
        KeyFileError: there are several and none is named, or others have a key here and this one has none.
        """
        names = self.names()
        if name is None and len(names) > 1:
            raise KeyFileError(f"{self.folder}: has the keys of {', '.join(names)}; say whose with --as NAME")
        chosen = name if name is not None else names[0] if names else FIRST_WEIGHER
        if names and chosen not in names:
            words = meant(chosen, names, "here are the keys of")
            raise KeyFileError(
                f"{self.folder}: there is no weigher {chosen!r}; {words}{'' if words.endswith('?') else '.'} "
                f"A new one is made with: steelyard key new --as {chosen}"
            )
        return self.any_weigher(chosen, pass_phrase)

    def any_weigher(self, name: str, pass_phrase: PassPhrase | None = None) -> Weigher:
        """A weigher of any name, who may have no key yet.

        Raises
        ------
        KeyFileError: the name cannot be that of a folder everywhere, or differs from another in its capitals alone.
        """
        if not _NAME.fullmatch(name):
            raise KeyFileError(
                f"{show_value(name)} cannot be the name of a weigher's folder: it takes letters from a to z, digits, - "
                "and _, at most 40. Any name can be shown to others, with --name"
            )
        like = next((item for item in self.names() if item != name and item.lower() == name.lower()), None)
        if like is not None:
            raise KeyFileError(f"{self.folder}: has a weigher {like!r}; write the name in the same capitals")
        return Weigher(self.folder / name, pass_phrase or PassPhrase())


class Weigher:
    """One weigher: their keys and their seals.

    Attributes
    ----------
    folder: where these are. name: of the folder.
    """

    def __init__(self, folder: Path, pass_phrase: PassPhrase) -> None:
        self.folder = folder
        self.name = folder.name
        self._pass_phrase = pass_phrase

    def book(self) -> KeyBook | None:
        """The keys that this weigher has had; None where there is none yet.

        Raises
        ------
        KeyFileError: the file cannot be read, or is not there though private keys are.
        """
        path = self.folder / _BOOK
        try:
            return read_book(read_file(path, LARGEST_BOOK), path)
        except DayFileError as error:
            raise KeyFileError(f"{error}. {_PUT_BACK}") from None
        except FileNotFoundError:
            log = self.folder / LOG_NAME
            if log.exists() and log.stat().st_size:
                raise KeyFileError(f"{path}: is not there, though days were sealed here. {_PUT_BACK}") from None
            return None

    def log(self) -> SealLog:
        """The seals of this weigher.

        Raises
        ------
        KeyFileError: the log is not there, or is not what was written.
        """
        return SealLog(self.folder / LOG_NAME)

    def published(self) -> bytes:
        """The bytes of ``keys.json`` for others to read.

        Raises
        ------
        KeyFileError: there is no key yet, or the file cannot be read.
        """
        return book_bytes(self._known_book())

    def private_path(self, key: PublishedKey) -> Path:
        """The file of a private key."""
        return self.folder / f"{bare(key.fingerprint)}.pem"

    def make(
        self, at: int, shown_name: str | None = None, new_phrase: Callable[[], bytes] | None = None
    ) -> PublishedKey:
        """Make a key for a weigher who has none that may seal.

        Parameters
        ----------
        at: the moment [s since 1970]. shown_name: what they are called in what they publish; None: as before.
        new_phrase: asks for the pass phrase of the key, once it is sure that one can be made; None: the one at hand.

        Raises
        ------
        KeyFileError: they have a key, the name is none, or a file cannot be written.
        """
        _check_shown(shown_name)
        self._refuse_second(self.book())
        phrase = self._pass_phrase.given if new_phrase is None else new_phrase()
        self._make_folders()
        with locked(self.folder / _LOCK):
            return self._made(at, shown_name, phrase)

    def _refuse_second(self, book: KeyBook | None) -> None:
        key = None if book is None else book.current
        if key is not None:
            raise KeyFileError(
                f"{self.folder}: has the key {key.fingerprint} since {moment_words(key.made)}; 'steelyard key rotate' "
                "puts a new one in its place"
            )

    def _make_folders(self) -> None:
        make_folder(self.folder.parent)
        make_folder(self.folder)

    def _made(self, at: int, shown_name: str | None, phrase: bytes | None) -> PublishedKey:
        book = self.book() or KeyBook(None, ())
        self._refuse_second(book)
        private = fresh()
        key = PublishedKey(private.public, at)
        log = self.folder / LOG_NAME
        if book.keys:
            self.log()  # refuses to go on without it
        elif not log.exists():
            make_log(log)
        keep(private, self.private_path(key), phrase)
        self._write(KeyBook(shown_name or book.name, (*book.keys, key)))
        return key

    def rotate(
        self, at: int, shown_name: str | None = None, new_phrase: Callable[[], bytes] | None = None
    ) -> tuple[PublishedKey, PublishedKey]:
        """Make a new key, which the one so far signs and which takes its place; gives both, the old one first.

        Parameters
        ----------
        new_phrase: asks for the pass phrase of the new private key; None: that of the old one.

        Raises
        ------
        KeyFileError: there is no key that may sign, it cannot be unlocked, the clock is behind, or a file cannot be
            written.
        """
        _check_shown(shown_name)
        old_private = self._unlocked(self._known_book())
        phrase = self._pass_phrase.given if new_phrase is None else new_phrase()
        with locked(self.folder / _LOCK):
            book = self._known_book()
            old = self._still(book, old_private)
            if at < old.made:
                raise KeyFileError(
                    f"{self.folder}: the clock is behind: the key was made at {moment_words(old.made)}, and it says "
                    f"{moment_words(at)}. Set the clock first"
                )
            self.log()
            private = fresh()
            proof = handed_over(old_private, private, at)
            new = PublishedKey(private.public, at, follows=(old.fingerprint, proof))
            keep(private, self.private_path(new), phrase)
            kept = tuple(replace(key, retired=at) if key is old else key for key in book.keys)
            self._write(KeyBook(shown_name or book.name, (*kept, new)))
        return replace(old, retired=at), new

    def revoke(self, fingerprint: str | None, reason: str, at: int) -> PublishedKey:
        """Say of a key that it is not to be trusted any more. Its private half is not needed for that.

        Parameters
        ----------
        fingerprint: whole, or its first 8 digits or more; None means the key in use. reason: one of ``REASONS``.

        Raises
        ------
        KeyFileError: there is no such key, it is revoked already for no better reason, or a file cannot be written.
        """
        if reason not in REASONS:
            raise KeyFileError(f"'{reason}' is no reason to revoke a key; there are {', '.join(REASONS)}")
        self._known_book()
        with locked(self.folder / _LOCK):
            book = self._known_book()
            key = self._meant(book, fingerprint)
            before = key.revoked
            if before is not None and before.reason in {"stolen", reason}:
                raise KeyFileError(
                    f"{key.fingerprint}: is revoked already ({before.reason}), since {moment_words(before.at)}"
                )
            revoked = replace(key, revoked=Revocation(at if before is None else min(at, before.at), reason))
            self._write(replace(book, keys=tuple(revoked if item is key else item for item in book.keys)))
        return revoked

    def seal(self, content: DayToSeal, sealed_at: int) -> GivenSeal:
        """Seal a day. A weigher without a key gets one. The same content again gives the seal that it has.

        Parameters
        ----------
        sealed_at: the moment by the weigher's clock [s since 1970].

        Raises
        ------
        KeyFileError: the key is revoked, missing or cannot be unlocked, or a file cannot be read or written.
        ValueError: the day holds a number that no seal can hold.
        """
        notes: list[str] = []
        if self.book() is None:
            notes += self._first_key(sealed_at)
        private = self._unlocked(self._known_book())
        whole = record_of(content, public=private.public, number=1, previous=None, sealed_at=0)
        digest = hashlib.sha256(to_bytes(whole)).digest()
        with locked(self.folder / _LOCK):
            key = self._still(self._known_book(), private)
            log = self.log()
            notes += log.notes
            try:
                found = log.with_content(digest)
                if found is not None:
                    return GivenSeal(found.record, found.data, tuple(notes), again=True)
                last = log.last()
                notes += _clock_notes(key, last, sealed_at)
            except (CoseError, RecordError) as error:
                raise KeyFileError(f"{log.path}: a seal in it {error}; put the log back from a backup") from None
            number, previous = (1, None) if last is None else (last.number + 1, last.digest)
            seal = seal_of(whole.at(number, previous, sealed_at), private.sign)
            log.add(LoggedSeal(number, digest, seal.data))
        return GivenSeal(seal.record, seal.data, tuple(notes))

    def _first_key(self, at: int) -> list[str]:
        """Make a key where there is none; the sentence that says so, unless another process was quicker."""
        self._make_folders()
        with locked(self.folder / _LOCK):
            if self.book() is not None:
                return []
            key = self._made(at, None, self._pass_phrase.given)
        return [f"A key was made for {self.name!r}: {key.fingerprint}. It is in {self.folder}. {CANNOT_BE_UNDONE}"]

    def _unlocked(self, book: KeyBook) -> UnlockedKey:
        """The private key in use."""
        key = book.current
        if key is None:
            newest = book.keys[-1]
            reason = "" if newest.revoked is None else f" ({newest.revoked.reason})"
            raise KeyFileError(
                f"{self.folder}: the key {newest.fingerprint} is revoked{reason} and seals nothing any more; "
                f"'steelyard key new --as {self.name}' makes another"
            )
        private = unlock(self.private_path(key), self._pass_phrase)
        if private.public != key.public:
            raise KeyFileError(
                f"{self.private_path(key)}: holds the key {fingerprint_of(private.public)}, not the one that its name "
                "says; put it back from a backup"
            )
        return private

    def _still(self, book: KeyBook, private: UnlockedKey) -> PublishedKey:
        """The entry of a key that was in use before the lock was taken, and is."""
        key = book.current
        if key is None or key.public != private.public:
            raise KeyFileError(f"{self.folder}: the key was changed by another process in this moment; try again")
        return key

    def _known_book(self) -> KeyBook:
        book = self.book()
        if book is None:
            raise KeyFileError(f"{self.folder}: there is no key yet; 'steelyard key new --as {self.name}' makes one")
        return book

    def _meant(self, book: KeyBook, fingerprint: str | None) -> PublishedKey:
        if fingerprint is None:
            if book.current is None:
                raise KeyFileError(f"{self.folder}: no key is in use; name one by its fingerprint")
            return book.current
        digits = re.sub(r"[\s:-]", "", fingerprint).lower()
        found = [key for key in book.keys if bare(key.fingerprint).startswith(digits)]
        if len(digits) < _LEAST_DIGITS or len(found) != 1:
            there = ", ".join(key.fingerprint for key in book.keys)
            raise KeyFileError(
                f"{show_value(fingerprint)} names no key of {self.name!r}; {_LEAST_DIGITS} digits or more of a "
                f"fingerprint do. There are: {there}"
            )
        return found[0]

    def _write(self, book: KeyBook) -> None:
        write_whole(self.folder / _BOOK, book_bytes(book))


def _is_weigher(folder: Path) -> bool:
    return (folder / _BOOK).exists() or (folder / LOG_NAME).exists()


def _check_shown(name: str | None) -> None:
    if name is not None and not is_shown_name(name):
        raise KeyFileError(f"--name: a name to show has 1 to {LONGEST_NAME} letters, on one line")


def _clock_notes(key: PublishedKey, last: LoggedSeal | None, sealed_at: int) -> list[str]:
    """The sentence that says that the clock is behind a seal before, or behind the key."""
    before = key.made if last is None else max(key.made, last.record.sealed_at)
    if sealed_at >= before:
        return []
    what = f"seal {last.number}" if last is not None and before == last.record.sealed_at else "the key"
    note = (
        f"The clock is behind: {what} was made at {moment_words(before)}, and this one says {moment_words(sealed_at)}."
    )
    return [f"{note} Whoever checks both will see it. Set the clock if it is wrong."]
