"""The options of every command that uses a weigher's key, and the ways to give a pass phrase."""

from __future__ import annotations

import functools
import os
import stat
import sys
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from steelyard.classes import dataclass
from steelyard.cli.options import FileName
from steelyard.cli.say import say_error
from steelyard.dayfile import DayFileError, Limit, contents
from steelyard.seals.files import KeyFileError
from steelyard.seals.keys import PassPhrase, PassPhraseError
from steelyard.seals.moment import SealTimeError
from steelyard.seals.ring import KeyRing, Weigher, keys_folder

PASS_PHRASE = "STEELYARD_PASS_PHRASE"  # noqa: S105 - the name of a variable
_WAYS = f"--pass-phrase-file FILE or in the variable {PASS_PHRASE}"

_F = TypeVar("_F", bound=Callable[..., Any])
_T = TypeVar("_T")
_PHRASE_FILE = Limit("a file with a pass phrase", 10_000)


@dataclass(frozen=True, slots=True)
class ChosenWeigher:
    """Whose key a command uses, as its options say.

    Attributes
    ----------
    name: of the weigher; None means the only one. folder: of keys, as it was given. phrase_file: holds the pass phrase.
    """

    name: str | None
    folder: Path | None
    phrase_file: Path | None

    @property
    def ring(self) -> KeyRing:
        """The folder of keys.

        Raises
        ------
        KeyFileError: it is in the home of a person whom the system does not know.
        """
        return KeyRing(keys_folder(self.folder))

    def weigher(self) -> Weigher:
        """The weigher, who may be the first one and have no key yet.

        Raises
        ------
        KeyFileError: several have a key and none is named, or the one that is named has none.
        """
        return self.ring.weigher(self.name, self.pass_phrase())

    def pass_phrase(self) -> PassPhrase:
        """The pass phrase of a file or the environment; otherwise a person is asked when a key has one.

        Raises
        ------
        KeyFileError: the file cannot be read or holds no pass phrase.
        """
        if self.phrase_file is not None:
            return PassPhrase(phrase_in(self.phrase_file))
        told = os.environ.get(PASS_PHRASE)
        return PassPhrase(_normal(told) if told else None, _asked)


def weigher_options(command: _F) -> _F:
    """``--as``, ``--key-folder`` and ``--pass-phrase-file``, given to the command as one ``whose: ChosenWeigher``."""
    return whose_options(
        click.option(
            "--pass-phrase-file",
            metavar="FILE",
            type=FileName(path_type=Path),
            help="Its first line is the pass phrase of the key; otherwise STEELYARD_PASS_PHRASE is, or you are asked.",
        )(command)
    )


def whose_options(command: _F) -> _F:
    """``--as`` and ``--key-folder``, given to the command as one ``whose: ChosenWeigher``."""

    @click.option("--as", "as_name", metavar="NAME", help="The weigher whose key it is; otherwise the only one.")
    @click.option(
        "--key-folder",
        "keys",
        metavar="FOLDER",
        type=FileName(path_type=Path),
        help="The folder of keys; otherwise that of STEELYARD_KEYS, or one beside the station's store.",
    )
    @functools.wraps(command)
    def wrapped(*args: Any, as_name: str | None, keys: Path | None, **values: Any) -> Any:
        phrase_file: Path | None = values.pop("pass_phrase_file", None)
        return command(*args, whose=ChosenWeigher(as_name, keys, phrase_file), **values)

    return wrapped  # pyright: ignore[reportReturnType] - click calls it by its options


def key_or_exit(ctx: click.Context, job: Callable[[], _T]) -> _T:
    """The result of ``job``; a key or a folder that cannot be used is said and ends the program with status 2."""
    try:
        return job()
    except (KeyFileError, SealTimeError) as error:
        say_error(str(error))
        ctx.exit(2)


def new_pass_phrase() -> bytes:
    """A pass phrase for a new key, typed twice without being shown.

    Raises
    ------
    PassPhraseError: there is no terminal to ask on, or none was typed.
    """
    return prompted("A pass phrase for the new key", twice=True)


def _asked(path: Path) -> bytes:
    return prompted(f"Pass phrase of the key {path.stem[:8]}", twice=False)


def prompted(question: str, *, twice: bool, ways: str = _WAYS) -> bytes:
    """A pass phrase that a person types without its being shown.

    Parameters
    ----------
    twice: whether it is asked for again, to compare. ways: how else it can be given, where nobody can be asked.

    Raises
    ------
    PassPhraseError: there is no terminal to ask on, or none was typed.
    """
    if not _terminal():
        raise PassPhraseError(f"A pass phrase is wanted, and there is no terminal to ask on; give it with {ways}")
    try:
        typed: str = click.prompt(question, hide_input=True, err=True, confirmation_prompt=twice)
    except click.Abort as error:
        if isinstance(error.__context__, EOFError):
            raise PassPhraseError("No pass phrase was typed, and nothing was done.") from None
        raise
    return _normal(typed)


def _terminal() -> bool:
    """Whether somebody can be asked: standard input may be a file and the terminal there nevertheless."""
    if sys.stdin is not None and sys.stdin.isatty():  # pyright: ignore[reportUnnecessaryComparison] - closed by the shell
        return True
    try:
        os.close(os.open("/dev/tty", os.O_RDWR | getattr(os, "O_NOCTTY", 0)))
    except OSError:
        return False
    return True


def phrase_in(path: Path) -> bytes:
    """The pass phrase that is the first line of a file.

    Raises
    ------
    KeyFileError: the file cannot be read, or holds no pass phrase.
    """
    try:
        data = contents(path, _PHRASE_FILE)
        text = data.decode("utf-8-sig").split("\n", 1)[0].removesuffix("\r")
    except DayFileError as error:
        raise KeyFileError(str(error)) from None
    except UnicodeDecodeError:
        raise KeyFileError(f"{path}: is not written in UTF-8, so its first line is no pass phrase") from None
    if not text:
        raise KeyFileError(f"{path}: its first line is empty; the pass phrase belongs there")
    if os.name == "posix" and path.is_file() and stat.S_IMODE(path.stat().st_mode) & 0o077:
        say_error(f"{path}: others can read this pass phrase; mend it with: chmod 600 '{path}'")
    return _normal(text)


def _normal(text: str) -> bytes:
    """The bytes of a pass phrase, the same from every keyboard: some systems write an accent as a letter of its own."""
    return unicodedata.normalize("NFC", text).encode("utf-8", "surrogateescape")
