"""The option of every command that signs a PDF with a certificate of the user's, and the ways to its pass phrase."""

from __future__ import annotations

import datetime
import functools
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from steelyard.classes import dataclass
from steelyard.cli.options import FileName
from steelyard.cli.say import say_error
from steelyard.cli.weighers import phrase_in, prompted
from steelyard.report.print.signature import (
    LARGEST_CERTIFICATE,
    PhraseError,
    Signatory,
    SignatureError,
    SignatureLibraryError,
    signatory,
    signed_pdf,
)
from steelyard.seals.files import KeyFileError

SIGN_PHRASE = "STEELYARD_SIGN_PHRASE"

_F = TypeVar("_F", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class ChosenCertificate:
    """A file with a private key and its certificate, as the options of a command say.

    Attributes
    ----------
    file: None where nothing is to be signed. phrase_file: holds its pass phrase.
    """

    file: Path | None
    phrase_file: Path | None

    def signatory(self, ctx: click.Context, path: Path) -> Signatory | None:
        """Key and certificate for the PDF that is to be written to ``path``; None where nothing is to be signed.

        A file that cannot sign, or that would be written over, is said on standard error, and ends the program with
        status 2.

        Raises
        ------
        UsageError: there is a pass phrase, and no file that it opens.
        """
        if self.file is None:
            if self.phrase_file is not None:
                raise click.UsageError("--sign-phrase-file goes with --sign-with")
            return None
        try:
            return self._opened(_read(self.file, path))
        except (SignatureLibraryError, KeyFileError) as error:
            message = str(error)
        except SignatureError as error:
            message = f"{self.file}: {error}"
        except OSError as error:
            message = f"{self.file}: cannot be read: {error.strerror or error}"
        say_error(message)
        return ctx.exit(2)

    def _opened(self, data: bytes) -> Signatory:
        now = datetime.datetime.now(datetime.UTC)
        told = os.environ.get(SIGN_PHRASE, "").encode("utf-8", "surrogateescape")
        if self.phrase_file is not None or told:
            return signatory(data, told if self.phrase_file is None else phrase_in(self.phrase_file), now)
        try:
            return signatory(data, None, now)
        except PhraseError:
            question = f"Pass phrase of {self.file}"
            ways = f"--sign-phrase-file FILE or in the variable {SIGN_PHRASE}"
            return signatory(data, prompted(question, twice=False, ways=ways), now)


def sign_with_options(command: _F) -> _F:
    """``--sign-with`` and ``--sign-phrase-file``, given to the command as one ``signing: ChosenCertificate``."""

    @click.option(
        "--sign-with",
        metavar="CERT.p12",
        type=FileName(path_type=Path),
        help="Sign the PDF with the key and certificate in this PKCS #12 file; it is never the same twice then.",
    )
    @click.option(
        "--sign-phrase-file",
        metavar="FILE",
        type=FileName(path_type=Path),
        help=f"Its first line is the pass phrase of CERT.p12; otherwise {SIGN_PHRASE} is, or you are asked.",
    )
    @functools.wraps(command)
    def wrapped(*args: Any, sign_with: Path | None, sign_phrase_file: Path | None, **values: Any) -> Any:
        return command(*args, signing=ChosenCertificate(sign_with, sign_phrase_file), **values)

    return wrapped  # pyright: ignore[reportReturnType] - click calls it by its options


def signed(pdf: bytes, by: Signatory | None) -> bytes:
    """The PDF with its signature, or as it is where nothing is to be signed."""
    return pdf if by is None else signed_pdf(pdf, by)


def _read(file: Path, target: Path) -> bytes:
    """The bytes of a file, a few more than it has at most.

    Raises
    ------
    SignatureError: it is the file that is to be written. OSError: it cannot be read.
    """
    if target.exists() and target.samefile(file):
        raise SignatureError("is the file to write too; give another name with -o")
    with file.open("rb") as stream:
        return stream.read(LARGEST_CERTIFICATE + 1)
