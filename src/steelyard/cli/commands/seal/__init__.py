"""``steelyard seal``: sign the day's figures, so that a stranger can check them."""

from __future__ import annotations

from pathlib import Path

import click

from steelyard.cli.options import FileName, day_argument, read_with_bytes_or_exit, rules_option, write_file
from steelyard.cli.say import say, say_error
from steelyard.cli.sealing import refuse_taken, sealed_or_exit, shown_name
from steelyard.cli.weighers import ChosenWeigher, key_or_exit, weigher_options
from steelyard.findings import weigh
from steelyard.model import RuleSet
from steelyard.report.tables.seals.sealed import sealed_text
from steelyard.seals.cbor import LARGEST
from steelyard.seals.cose import CoseError, parse
from steelyard.seals.files import KeyFileError, read_file
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.record import RecordError, from_bytes
from steelyard.seals.ring import GivenSeal, Weigher
from steelyard.seals.sealing import content_of_file, findings_file

_ENDING = ".seal"


@click.command()
@day_argument
@click.option(
    "-o", "--output", metavar="NAME.seal", type=FileName(path_type=Path), help="The seal; otherwise DAY.seal, here."
)
@rules_option
@weigher_options
@click.pass_context
def seal(ctx: click.Context, file: str, output: Path | None, rules: tuple[RuleSet, ...], whose: ChosenWeigher) -> None:
    """Seal DAY.toml: sign its figures and its files, so that anybody can see later that not a digit was changed.

    Writes NAME.seal, and NAME.findings.json with every number that is sealed. Give both away with DAY.toml: the seal
    alone holds the headline figures, the findings hold all of them, and from DAY.toml they can be worked out again.
    The same day sealed again gives the same seal. The first time, a key is made for you; see 'steelyard key'.
    """
    day, data = read_with_bytes_or_exit(ctx, file, rules)
    path = _path(file, output)
    findings_path = path.with_name(f"{path.name.removesuffix(_ENDING)}.findings.json")
    refuse_taken(ctx, (path, findings_path), Path(file))
    _refuse_other(ctx, path)
    content = content_of_file(weigh(day), data)
    found, weigher = sealed_or_exit(ctx, whose, content, file)
    for note in (*found.notes, *_written_over(path, found, weigher)):
        say_error(note)
    write_file(ctx, findings_path, findings_file(content), day_file=file)
    write_file(ctx, path, found.data, day_file=file)
    name = key_or_exit(ctx, lambda: shown_name(weigher))
    say(sealed_text(found, content, name=name, files=(str(path), str(findings_path), file)), end="")


def _path(file: str, output: Path | None) -> Path:
    name = f"{Path(file).stem}{_ENDING}"
    return Path(name) if output is None else output / name if output.is_dir() else output


def _refuse_other(ctx: click.Context, path: Path) -> None:
    """See that the seal is written over no file but an earlier seal, before a number is used up."""
    try:
        from_bytes(parse(read_file(path, LARGEST)).payload)
    except FileNotFoundError:
        return
    except (KeyFileError, CoseError, RecordError):
        say_error(f"{path}: is there already and is no seal, so it is not written over; give another name with -o")
        ctx.exit(2)


def _written_over(path: Path, found: GivenSeal, weigher: Weigher) -> list[str]:
    """The sentence that says that an earlier seal of the same name is written over."""
    try:
        data = read_file(path, LARGEST)
        before = from_bytes(parse(data).payload)
    except (FileNotFoundError, KeyFileError, CoseError, RecordError):
        return []
    if data == found.data:
        return []
    book = weigher.book()
    own = book is not None and any(key.public == before.public for key in book.keys)
    kept = f" The log of your seals keeps it, in {weigher.folder}." if own else ""
    return [f"{path}: held seal {before.number:,} of the key {fingerprint_of(before.public)} until now.{kept}"]
