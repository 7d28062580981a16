"""A weigher's keys as text."""

from __future__ import annotations

from steelyard.report.words.grid import wrapped
from steelyard.seals.fingerprint import bare
from steelyard.seals.keybook import PublishedKey
from steelyard.seals.keys import is_locked
from steelyard.seals.moment import moment_words
from steelyard.seals.ring import CANNOT_BE_UNDONE, Weigher

_PUBLISH = "Tell people the fingerprint where they know you. 'steelyard key show --publish keys.json' writes all of it."
_AGAIN = "Publish your keys.json again: steelyard key show --publish keys.json"


def made_text(weigher: Weigher, key: PublishedKey) -> str:
    """That a key was made, and everything that its holder should know, at most 80 columns, ending in a line end."""
    return _text(
        [f"A key was made for {weigher.name}.", *_where(weigher, key)], wrapped(CANNOT_BE_UNDONE), wrapped(_PUBLISH)
    )


def rotated_text(weigher: Weigher, old: PublishedKey, new: PublishedKey) -> str:
    """That a key took the place of another."""
    return _text(
        [f"{weigher.name} has a new key, signed by the old one.", *_where(weigher, new)],
        wrapped(
            f"The old key {old.fingerprint} seals nothing more; what it sealed stays good, and its file is kept. The "
            "running numbers of the seals go on."
        ),
        wrapped(f"Copy the folder to your backup. {_AGAIN}"),
    )


def revoked_text(weigher: Weigher, key: PublishedKey) -> str:
    """That a key is revoked, and what is to be done."""
    in_use = "" if key.retired is not None else f". Another one is made with: steelyard key new --as {weigher.name}"
    return _text(
        [f"A key of {weigher.name} is {_state(key)}.", f"  fingerprint  {key.fingerprint}"],
        wrapped(f"Nobody knows of that yet. {_AGAIN}{in_use}"),
    )


def keys_text(weigher: Weigher) -> str:
    """All keys of a weigher, first to last, and their seals; at most 80 columns, ending in a line end.

    Raises
    ------
    KeyFileError: a file cannot be read, or is not what was written there.
    """
    book = weigher.book()
    keys = () if book is None else book.keys
    name = "" if book is None or book.name is None else f", shown as {book.name}"
    log = weigher.log()
    times = [seal.record.sealed_at for seal in log.seals()]
    seals = "no seal yet"
    if times:
        number = "1 seal" if len(times) == 1 else f"{len(times):,} seals"
        seals = f"{number}, the last on {moment_words(times[-1])}"
    lines = [f"{weigher.name}{name}", f"  {weigher.folder}", f"  {seals}"]
    for key in keys:
        lines += [
            f"  {key.fingerprint}",
            f"    since {moment_words(key.made)}, {_state(key)}",
            f"    {_file_words(weigher, key)}",
        ]
    return "\n".join(lines + [line for note in log.notes for line in wrapped(note)]) + "\n"


def _state(key: PublishedKey) -> str:
    if key.revoked is not None:
        return f"revoked ({key.revoked.reason}) {moment_words(key.revoked.at)}"
    if key.retired is not None:
        return f"retired {moment_words(key.retired)}"
    return "in use"


def _file_words(weigher: Weigher, key: PublishedKey) -> str:
    """How the private key is kept, as far as that matters."""
    try:
        locked = is_locked(weigher.private_path(key))
    except FileNotFoundError:
        return "its private key is not here"
    return f"its private key is here, {'with' if locked else 'without'} a pass phrase"


def _where(weigher: Weigher, key: PublishedKey) -> list[str]:
    phrase = "with" if is_locked(weigher.private_path(key)) else "without"
    return [
        f"  fingerprint  {key.fingerprint}",
        f"  folder       {weigher.folder}",
        f"  private key  {bare(key.fingerprint)}.pem, {phrase} a pass phrase",
    ]


def _text(*sections: list[str]) -> str:
    return "\n\n".join("\n".join(lines) for lines in sections) + "\n"
