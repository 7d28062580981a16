"""``steelyard ticket``: write the record of the day as a PDF to print or publish."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from steelyard.cli.options import (
    FileName,
    day_argument,
    own_rule_texts,
    read_with_bytes_or_exit,
    rules_option,
    write_file,
)
from steelyard.cli.say import say, say_error
from steelyard.cli.sealing import refuse_taken, sealed_or_exit, shown_name, stamp_or_exit
from steelyard.cli.signing import ChosenCertificate, sign_with_options, signed
from steelyard.cli.weighers import ChosenWeigher, key_or_exit, weigher_options
from steelyard.dayfile import photograph_files
from steelyard.findings import Findings, weigh
from steelyard.model import RuleSet, WeighDay
from steelyard.report.print.making import OwnRules
from steelyard.report.print.photos import (
    LARGEST_PHOTO,
    MOST_PHOTOS,
    PhotoError,
    TicketPhoto,
    printable_photo,
    too_large,
)
from steelyard.report.print.sealed import SealToPrint, seal_to_print
from steelyard.report.print.thumbnails import NO_THUMBNAILS, Thumbnails
from steelyard.report.print.thumbnails import thumbnails as make_thumbnails
from steelyard.report.print.ticket import ticket_pdf
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.sealing import content_of_file

_LONGEST = 60
"""Characters under a line to sign on, at most."""


@click.command()
@day_argument
@click.option("-o", "--output", type=FileName(path_type=Path), help="The PDF to write; otherwise DAY.pdf, here.")
@click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", help="The size of the pages.")
@click.option("--no-pictures", is_flag=True, help="Draw one state only, that of the record; otherwise every state.")
@click.option(
    "--photo",
    "photos",
    multiple=True,
    metavar="FILE[=CAPTION]",
    help="A photograph to print behind the record, JPEG, PNG or WebP; may be given again.",
)
@click.option(
    "--thumbnails",
    is_flag=True,
    help="Print the photographs that the day names, and that lie beside it, as small pictures beside their drafts.",
)
@click.option(
    "--sign", multiple=True, metavar="WORDS", help="A line to sign on, with these words under it; may be given again."
)
@sign_with_options
@rules_option
@click.option(
    "--seal",
    "with_seal",
    is_flag=True,
    help="Seal the day: print the seal as a code, and attach it to the PDF with the findings and the weigh day.",
)
@click.option(
    "--stamp",
    metavar="NAME.seal.tsr",
    type=FileName(path_type=Path),
    help="Attach this time stamp of the seal too; see 'steelyard stamp'.",
)
@weigher_options
@click.pass_context
def ticket(
    ctx: click.Context,
    file: str,
    output: Path | None,
    paper: str,
    *,
    no_pictures: bool,
    photos: tuple[str, ...],
    thumbnails: bool,
    sign: tuple[str, ...],
    signing: ChosenCertificate,
    rules: tuple[RuleSet, ...],
    with_seal: bool,
    stamp: Path | None,
    whose: ChosenWeigher,
) -> None:
    """Write the record of DAY.toml as a PDF to print or to publish.

    Two pages hold the record of a usual day; behind it come the pictures of its other states, and the photographs.
    A photograph is printed without the place and the time that a camera writes into it. One that the day names but
    that is not the one that was kept is not printed; the ticket says so.

    With --seal, anybody can see later that not a digit of the day was changed, from the file or from the paper. The
    first time, a key is made for you; see 'steelyard key'.
    """
    _check_words(sign)
    if not with_seal and (whose.name is not None or whose.phrase_file is not None):
        raise click.UsageError("--as and --pass-phrase-file say whose key seals the ticket; give --seal too")
    if stamp is not None and not with_seal:
        raise click.UsageError("--stamp is a time stamp of the seal; give --seal too")
    day, data = read_with_bytes_or_exit(ctx, file, rules)
    printed = _printable(ctx, photos)
    name = f"{Path(file).stem}.pdf"
    path = Path(name) if output is None else output / name if output.is_dir() else output
    _keep_photos(ctx, path, photos)
    by = signing.signatory(ctx, path)
    small = _displays(day, file) if thumbnails else NO_THUMBNAILS
    findings = weigh(day)
    seal, told = _seal(ctx, findings, data, file, path, stamp, whose) if with_seal else (None, "")
    made = ticket_pdf(
        findings, paper=paper, pictures=not no_pictures, photos=printed, small=small, sign=sign, seal=seal
    )
    write_file(ctx, path, signed(made, by), day_file=file)
    say(str(path))
    if told:
        say(told)


def _seal(
    ctx: click.Context,
    findings: Findings,
    data: bytes,
    file: str,
    path: Path,
    stamp: Path | None,
    whose: ChosenWeigher,
) -> tuple[SealToPrint, str]:
    """The seal of the day to print, and a sentence about it. A number is given only for a file that can be written."""
    refuse_taken(ctx, [path], Path(file))
    own = [OwnRules(name, text) for name, text in own_rule_texts(ctx)]
    content = content_of_file(findings, data)
    found, weigher = sealed_or_exit(ctx, whose, content, file)
    for note in found.notes:
        say_error(note)
    name = key_or_exit(ctx, lambda: shown_name(weigher))
    told = f"Seal number {found.record.number} of {name}, fingerprint {fingerprint_of(found.record.public)}"
    seal = seal_to_print(found, content, Path(file).name, own)
    if stamp is None:
        return seal, told
    reply, said = stamp_or_exit(ctx, stamp, found.data)
    return replace(seal, stamp=reply), f"{told}\n{said.sentence}"


def _displays(day: WeighDay, file: str) -> Thumbnails:
    """The small pictures; what is not printed is said on standard error too, and keeps nobody from the ticket."""
    small = make_thumbnails(day, photograph_files(day, file))
    for note in small.notes:
        say_error(f"{file}: {note}")
    if not day.photographs:
        say_error(f"{file}: names no photographs; the ticket is printed without small pictures")
    return small


def _check_words(sign: tuple[str, ...]) -> None:
    """See that there are words under each line to sign on, and that they fit there."""
    for words in sign:
        if not words.strip():
            raise click.BadParameter("has no words; say who signs, as in --sign 'weighed by'", param_hint="'--sign'")
        if len(words) > _LONGEST:
            message = f"has {len(words)} characters; at most {_LONGEST} stand under a line to sign on"
            raise click.BadParameter(message, param_hint="'--sign'")


def _named(text: str) -> tuple[Path, str]:
    """File and caption of an option; a file may have the sign between the two in its own name."""
    if not text.partition("=")[0]:
        raise click.BadParameter(f"'{text}' names no file; write FILE or FILE=CAPTION", param_hint="'--photo'")
    whole = Path(text)
    if "=" not in text or _exists(whole):
        return whole, whole.stem
    name, _, caption = text.partition("=")
    return Path(name), caption.strip() or Path(name).stem


def _exists(path: Path) -> bool:
    """Whether there is such a file; a caption may make a name too long for the system to look for."""
    try:
        return path.exists()
    except OSError:
        return False


def _printable(ctx: click.Context, texts: tuple[str, ...]) -> list[TicketPhoto]:
    """The photographs; each that cannot be printed is said on standard error, and ends the program with status 2."""
    if len(texts) > MOST_PHOTOS:
        raise click.BadParameter(
            f"{len(texts)} photographs; a ticket has at most {MOST_PHOTOS}", param_hint="'--photo'"
        )
    found: list[TicketPhoto] = []
    for text in texts:
        path, caption = _named(text)
        try:
            found.append(printable_photo(TicketPhoto(_read(path), caption)))
        except PhotoError as error:
            say_error(f"{path}: {error}")
        except OSError as error:
            say_error(f"{path}: cannot be read: {error.strerror or error}")
    if len(found) < len(texts):
        ctx.exit(2)
    return found


def _read(path: Path) -> bytes:
    """The bytes of a photograph, unless there are too many.

    Raises
    ------
    OSError: it cannot be read. PhotoError: it is not a file, or too large.
    """
    size = path.stat().st_size
    if not path.is_file():
        raise PhotoError("is not a file")
    if size > LARGEST_PHOTO:
        raise PhotoError(too_large(size))
    return path.read_bytes()


def _keep_photos(ctx: click.Context, path: Path, texts: tuple[str, ...]) -> None:
    """See that the ticket is not written over one of its photographs."""
    if any(path.exists() and path.samefile(_named(text)[0]) for text in texts):
        say_error(f"{path}: is one of the photographs; give another name with -o")
        ctx.exit(2)
