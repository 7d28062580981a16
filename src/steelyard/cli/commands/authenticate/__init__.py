"""``steelyard authenticate``: is a sealed ticket genuine, and what differs?"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NoReturn

import click

from steelyard.cli.commands.authenticate.known import standing_of
from steelyard.cli.commands.authenticate.page import write_page
from steelyard.cli.options import FileName, rules_option
from steelyard.cli.say import say, say_data, say_error
from steelyard.cli.status import ExitStatus
from steelyard.model import RuleSet
from steelyard.questions.rounding import as_they_are
from steelyard.questions.shape import FORMAT, to_json
from steelyard.seals.authenticate.answer import NothingReadShape, SealJudgement, UnreadableShape
from steelyard.seals.authenticate.judge import SealJudge, judge
from steelyard.seals.authenticate.pieces import (
    FoundSeal,
    GivenDay,
    GivenFindings,
    GivenTicket,
    Piece,
    UnreadableError,
)
from steelyard.seals.authenticate.plain import plain
from steelyard.seals.authenticate.reading import beside, read_file, read_text, stamp_beside
from steelyard.seals.moment import SealTimeError, moment
from steelyard.seals.stamp import LARGEST_TRUSTED, TrustedFileError, certificates_in

_SEALED = (GivenFindings, GivenDay)


@click.command()
@click.argument("files", nargs=-1, metavar="[FILE]...", type=click.Path())
@click.option("--text", "texts", multiple=True, metavar="TEXT", help="The text of a code, pasted; may be given again.")
@click.option("--keys", "keys", multiple=True, metavar="keys.json", type=click.Path(), help="Keys that you know.")
@click.option("--fingerprint", "fingerprints", multiple=True, metavar='"3f2a11c0 ..."', help="A key that you know.")
@click.option(
    "--trust",
    type=FileName(path_type=Path),
    help="Certificates of authorities whose time stamps you trust, PEM or DER.",
)
@rules_option
@click.option("--no-weighing", is_flag=True, help="Compare digests and figures; weigh no day again.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object, as 'schema authenticate' describes.")
@click.option("--page", is_flag=True, help="Check nothing; write one HTML page that checks in a browser, offline.")
@click.option("-o", "--output", type=FileName(path_type=Path), help="The file for --page; otherwise check.html.")
@click.pass_context
def authenticate(
    ctx: click.Context,
    files: tuple[str, ...],
    texts: tuple[str, ...],
    keys: tuple[str, ...],
    fingerprints: tuple[str, ...],
    trust: Path | None,
    rules: tuple[RuleSet, ...],
    no_weighing: bool,
    as_json: bool,
    page: bool,
    output: Path | None,
) -> None:
    """Say of sealed tickets whose key sealed them, what is sealed, and what differs.

    FILE is a ticket (PDF), a seal, findings as JSON, a weigh-day file, a photograph or scan of a ticket, the text of
    its code, or - for the standard input; what it is, its content says. Nothing is asked of any network. A time stamp
    of a seal is read where it lies beside it as NAME.seal.tsr; --trust says whose time stamps you trust.

    The exit status is 0 only where everything is genuine, 1 for any other judgement, 2 where something cannot be read.

    With --page nothing is checked: the page that is written does the same in a browser, and knows the keys of --keys.
    """
    if page:
        if files or texts or fingerprints or rules or as_json or no_weighing or trust is not None:
            raise click.UsageError("--page checks nothing; only --keys and -o go with it")
        write_page(ctx, keys, Path("check.html") if output is None else output)
        return
    if output is not None:
        raise click.UsageError("-o goes with --page; without it nothing is written")
    if not files and not texts:
        raise click.UsageError("name a FILE, or give the text of a code with --text")
    known = standing_of(ctx, keys, fingerprints)
    try:
        trusted = None if trust is None else _trusted(trust)
        pieces = tuple(_pieces(files, texts))
        now = moment()
    except UnreadableError as error:
        _refuse(ctx, error, as_json=as_json)
    except SealTimeError as error:
        _refuse(ctx, UnreadableError("the clock here", str(error)), as_json=as_json)
    by = SealJudge(known, now=now, weigh=not no_weighing, trusted=trusted, rules=rules)
    answer = judge(pieces, _with_pages(by, pieces))
    if as_json:
        say_data(json.dumps(to_json(answer, rounding=as_they_are), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        from steelyard.report.tables.seals.authenticate import authenticate_text

        say(authenticate_text(answer), end="")
    if answer.judgement is not SealJudgement.GENUINE:
        ctx.exit(int(ExitStatus.NOT_GENUINE))


def _with_pages(by: SealJudge, pieces: Sequence[Piece]) -> SealJudge:
    """The same judge, who also makes the pages of tickets again; what that needs is loaded for a ticket alone."""
    if not by.weigh or not any(isinstance(piece, GivenTicket) for piece in pieces):
        return by
    from steelyard.cli.commands.authenticate.printed import printed, rules_of

    return replace(by, printed=printed, rules_of=rules_of)


def _pieces(files: tuple[str, ...], texts: tuple[str, ...]) -> Iterator[Piece]:
    """Everything that was given; a seal beside findings or a day file and a time stamp beside a seal count as given."""
    for file in files:
        found = read_file(file, sys.stdin.buffer)
        yield from found
        lying = beside(file)
        if lying is not None and str(lying) not in files and any(isinstance(one, _SEALED) for one in found):
            found += (seal := read_file(str(lying)))
            yield from seal
        for stamp in dict.fromkeys(stamp_beside(one.origin.file) for one in found if isinstance(one, FoundSeal)):
            if stamp is not None and str(stamp) not in files:
                yield from read_file(str(stamp))
    for number, text in enumerate(texts, 1):
        yield from read_text(text, "--text" if len(texts) == 1 else f"--text {number}")


def _trusted(path: Path) -> bytes:
    """The bytes of a file of certificates.

    Raises
    ------
    UnreadableError: it cannot be read, or holds no certificate.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_TRUSTED)
        certificates_in(data)
    except OSError as error:
        raise UnreadableError(str(path), f"cannot be read: {error.strerror or error}") from None
    except TrustedFileError as error:
        raise UnreadableError(str(path), str(error)) from None
    return data


def _refuse(ctx: click.Context, error: UnreadableError, *, as_json: bool) -> NoReturn:
    place, message = plain(error.place), plain(error.message, 400)
    if as_json:
        shape = NothingReadShape(FORMAT, (UnreadableShape(place, message),))
        say_data(json.dumps(to_json(shape), allow_nan=False, separators=(",", ":")) + "\n")
    else:
        say_error(f"{place}: {message}")
    ctx.exit(int(ExitStatus.BAD_INPUT))
