"""``steelyard stamp``: ask an authority for the time of a seal, check its reply."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

import click

from steelyard.cli.options import FileName, write_file
from steelyard.cli.say import say, say_error
from steelyard.seals.cbor import LARGEST
from steelyard.seals.cose import CoseError, parse
from steelyard.seals.ed25519 import verified
from steelyard.seals.record import RecordError, SealRecord, from_bytes
from steelyard.seals.stamp import (
    LARGEST_TRUSTED,
    Stamp,
    StampError,
    StampLibraryError,
    TrustedFileError,
    checked_stamp,
    clock_caution,
    request,
)
from steelyard.seals.stamp_reply import LARGEST_REPLY


@click.command()
@click.argument("file", metavar="NAME.seal", type=FileName(path_type=Path))
@click.option(
    "--reply", type=FileName(path_type=Path), help="The authority's reply, to check and to put beside the seal."
)
@click.option(
    "--trust",
    type=FileName(path_type=Path),
    help="Certificates that you trust, PEM or DER, to check the reply against.",
)
@click.pass_context
def stamp(ctx: click.Context, file: Path, reply: Path | None, trust: Path | None) -> None:
    """Write the request for a time stamp of NAME.seal, or check the reply.

    Without --reply the request is written beside the seal as NAME.seal.tsq. Send it to a time-stamping authority
    yourself: this program opens no connection. With --reply the authority's answer is checked and put beside the seal
    as NAME.seal.tsr.
    """
    if reply is None and trust is not None:
        raise click.UsageError("--trust goes with --reply: a request needs no certificate")
    data = _bytes(ctx, file, LARGEST, "a seal")
    record = _record(ctx, file, data)
    if reply is None:
        _ask(ctx, file, data)
    else:
        _check(ctx, file, data, record, reply, trust)


def _ask(ctx: click.Context, file: Path, seal: bytes) -> None:
    """Write the request, and say what to do with it."""
    try:
        content = request(seal)
    except StampError as error:
        _end(ctx, str(error))
    path = file.with_name(f"{file.name}.tsq")
    write_file(ctx, path, content, day_file=str(file))
    say(str(path))
    say(
        "Send this file to a time-stamping authority (RFC 3161), as Content-Type: application/timestamp-query,\n"
        f"save the reply, then: steelyard stamp {file} --reply REPLY"
    )


def _check(ctx: click.Context, file: Path, seal: bytes, record: SealRecord, reply: Path, trust: Path | None) -> None:
    """Check a reply, put it beside the seal, and say what it says."""
    answer = _bytes(ctx, reply, LARGEST_REPLY, "a reply")
    trusted = None if trust is None else _bytes(ctx, trust, LARGEST_TRUSTED, "a file of certificates")
    try:
        found = checked_stamp(answer, seal, trusted)
    except StampLibraryError as error:
        _end(ctx, str(error))
    except TrustedFileError as error:
        _end(ctx, f"{trust}: {error}")
    except StampError as error:
        _end(ctx, f"{reply}: {error}")
    path = file.with_name(f"{file.name}.tsr")
    if not (path.exists() and path.samefile(reply)):
        write_file(ctx, path, answer, day_file=str(file))
        say(str(path))
    for line in _lines(found, clock_caution(found, record)):
        say(line)


def _lines(found: Stamp, caution: str | None) -> list[str]:
    cautions = [] if caution is None else [caution]
    return [
        found.sentence,
        *cautions,
        "Checked:",
        *(f"- {line}" for line in found.checked),
        "Not checked:",
        *(f"- {line}" for line in found.unchecked),
    ]


def _record(ctx: click.Context, file: Path, data: bytes) -> SealRecord:
    """The record of a seal whose signature is right; anything else ends the program with status 2."""
    try:
        signed = parse(data)
        record = from_bytes(signed.payload)
    except (CoseError, RecordError) as error:
        _end(ctx, f"{file}: is not a seal: it {error}")
    if not verified(record.public, signed.to_be_signed, signed.signature):
        _end(ctx, f"{file}: is a seal whose signature does not fit; a time stamp would be of no use")
    return record


def _bytes(ctx: click.Context, path: Path, most: int, what: str) -> bytes:
    """The bytes of a file, one more than ``most`` at most; one that cannot be read ends the program with status 2."""
    try:
        with path.open("rb") as file:
            data = file.read(most + 1)
    except OSError as error:
        _end(ctx, f"{path}: cannot be read: {error.strerror or error}")
    if len(data) > most:
        _end(ctx, f"{path}: is too large: {what} has at most {most} bytes")
    return data


def _end(ctx: click.Context, message: str) -> NoReturn:
    say_error(message)
    ctx.exit(2)
