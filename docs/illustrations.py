"""Makes the pictures of the documents: drawings by the program's own commands, pages of the station, a printed ticket.

    make docs                                       writes them with everything else
    python -m docs.illustrations [NAME ...]         writes some

Every picture has one size and invented data, and lies in ``docs/pictures`` in ``light`` and in ``dark``. A file
is written anew only where it would look different.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from docs import key_chain, time_stamp
from docs.console import ROOT, blocks, prepare, run
from docs.seen import Seen, differences, noted, seen_in, seen_on_paper
from steelyard.report.drawings.sheet.palette import Theme

PICTURES = ROOT / "docs" / "pictures"
HOW_TO = ROOT / "docs" / "how-to"
THEMES: tuple[Theme, ...] = ("light", "dark")
EXPLAINED: dict[str, Callable[[Theme], str]] = {
    key_chain.NAME: key_chain.key_chain_svg,
    time_stamp.NAME: time_stamp.time_stamp_svg,
}
"""Drawings that explain and show no data, each by its name."""

TICKET = "light/ticket.png"
SEALED = "light/seals/sealed-ticket.png"
OVERLAY = "light/overlay.png"
COLOURS = 64
KNOWN_KEY = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
SEALED_AT = 1_796_040_000  # 2026-11-30, 12:00 UTC
VISIBLE = 48
"""How far the means of a small patch of two pictures may differ, of 255, before they look different: edges of letters
that fall half a pixel beside make 42, one other digit of ten pixels or more makes 60."""


@dataclass(frozen=True)
class Drawing:
    """A drawing that a command writes to ``{out}.svg``.

    ``page`` is the document whose weigh days it needs, ``before`` the commands that are to run first.
    """

    name: str
    command: str
    page: Path | None = None
    before: tuple[str, ...] = ()


BAKERY = "examples/quay-bakery.toml"
STAGES = " ".join(f"examples/stage-{name}.toml" for name in ("van", "wagon", "flatbed"))
DRAWINGS = (
    Drawing("above", f"draw {BAKERY} --state levelled --theme {{theme}} -o {{out}}.svg"),
    Drawing("bars", f"draw {BAKERY} --state levelled --against hitched --theme {{theme}} -o {{out}}.svg"),
    Drawing(
        "load-map",
        f"loadmap {BAKERY} --state levelled --on truck --item '1500 lb' --grid 100x40 --theme {{theme}} -o {{out}}",
    ),
    Drawing("trailer", f"trailer {BAKERY} --from solo --theme {{theme}} -o {{out}}"),
    Drawing(
        "sweep",
        f"sweep {BAKERY} examples/quay-bakery-sweep.csv --state solo --at ball --height-division '0.05 in' "
        "--theme {theme} --plot {out}.svg",
    ),
    Drawing("rigs", f"compare {STAGES} --rigs {{look}} -o {{out}}"),
    Drawing("road/puppets", "draw examples/puppet-van.toml --state hitched --theme {theme} -o {out}.svg"),
    Drawing(
        "many/coverage",
        "coverage class --theme {theme} --plot {out}.svg",
        before=("simulate --like examples/puppet-van.toml --count 200 --seed 7 -o class",),
    ),
    Drawing("drift", "verify examples/pads-2025.toml examples/pads-2026.toml --chart {out}.svg"),
    Drawing(
        "depot",
        "draw depot.toml --state hitched --theme {theme} -o {out}.svg",
        HOW_TO / "truck-scale-day.md",
    ),
    Drawing(
        "stock",
        "draw stock.toml --state parked --theme {theme} -o {out}.svg",
        HOW_TO / "pads-under-some-wheels.md",
    ),
    Drawing("lot", "draw lot.toml --state full --theme {theme} -o {out}.svg", HOW_TO / "the-ground.md"),
    Drawing(
        "height",
        "draw height.toml --state empty --theme {theme} -o {out}.svg",
        HOW_TO / "height-of-the-centre-of-gravity.md",
    ),
    Drawing(
        "many/distributions",
        "summary answers --page {out}.svg --theme {theme}",
        before=(
            f"simulate --like {BAKERY} --count 60 --seed 11 -o bakery",
            "batch bakery/days -o answers --jobs 1 --quiet",
        ),
    ),
)


def files_of(page: Path, folder: Path) -> None:
    """Write the weigh days that a document shows into ``folder``, as its blocks say."""
    for block in blocks(page.read_text(encoding="utf-8")):
        if block.file is not None:
            (folder / block.file).write_text(block.text, encoding="utf-8")


def drawn(drawing: Drawing) -> Iterator[tuple[str, bytes]]:
    """The files of a drawing, each with its name."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        prepare(folder)
        if drawing.page is not None:
            files_of(drawing.page, folder)
        for command in drawing.before:
            run(f"steelyard {command}", folder)
        for theme in THEMES:
            if "{theme}" not in drawing.command and "{look}" not in drawing.command and theme != THEMES[0]:
                continue
            look = "--dark" if theme == "dark" else ""
            printed = run("steelyard " + drawing.command.format(theme=theme, look=look, out="drawn"), folder)
            made = folder / "drawn.svg"
            if not made.exists():
                raise RuntimeError(f"{drawing.name}: the command drew nothing and printed: {printed}")
            yield f"{theme}/{drawing.name}.svg", made.read_bytes()
            made.unlink()


def ticket() -> Iterator[tuple[str, bytes]]:
    """The first page of the ticket of the bundled day, on paper, with an edge that shows on a white page."""
    with tempfile.TemporaryDirectory() as folder:
        prepare(Path(folder))
        run(f"steelyard ticket {BAKERY} -o ticket.pdf", Path(folder))
        page = on_paper(Path(folder) / "ticket.pdf", page=1, dots=110).convert("RGB")
        seen = seen_on_paper(Path(folder) / "ticket.pdf", page=1)
    sheet = Image.new("RGB", (page.width + 2, page.height + 2), (176, 180, 184))
    sheet.paste(page, (1, 1))
    yield TICKET, small(sheet, seen)


def sealed_ticket() -> Iterator[tuple[str, bytes]]:
    """The seal on the ticket of the bundled day, by a key that everybody knows (RFC 8032, 7.1)."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    from steelyard.dayfile import parse_day
    from steelyard.findings import weigh
    from steelyard.report.print.sealed import seal_to_print
    from steelyard.report.print.ticket import ticket_pdf
    from steelyard.seals.sealing import content_of_file, sealed

    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(KNOWN_KEY))
    data = (ROOT / BAKERY).read_bytes()
    findings = weigh(parse_day(data, BAKERY))
    content = content_of_file(findings, data)
    public = key.public_key().public_bytes_raw()
    seal = sealed(content, public=public, sign=key.sign, number=17, previous=bytes(range(32)), sealed_at=SEALED_AT)
    with tempfile.TemporaryDirectory() as folder:
        pdf = ticket_pdf(findings, seal=seal_to_print(seal, content, Path(BAKERY).name))
        (Path(folder) / "ticket.pdf").write_bytes(pdf)
        page = on_paper(Path(folder) / "ticket.pdf", page=3, dots=130).convert("L").convert("RGB")
        seen = seen_on_paper(Path(folder) / "ticket.pdf", page=3)
    yield SEALED, small(page.crop((50, 46, page.width - 50, 356)), seen)


def on_paper(pdf: Path, *, page: int, dots: int) -> Image.Image:
    """A page of a PDF, with so many dots to the inch."""
    numbers = ["-r", str(dots), "-f", str(page), "-l", str(page)]
    command = ["pdftoppm", "-png", *numbers, "-singlefile", pdf.name, pdf.stem]
    subprocess.run(command, cwd=pdf.parent, check=True)  # noqa: S603 - the words are the ones above
    return Image.open(pdf.with_suffix(".png"))


def overlay() -> Iterator[tuple[str, bytes]]:
    """A frame of a video: the bundled day's frame over an invented quay, at two thirds of its size."""
    with tempfile.TemporaryDirectory() as folder:
        prepare(Path(folder))
        run(f"steelyard overlay {BAKERY} --start 09:31:00 --duration 1 --fps 1 -o film", Path(folder))
        with Image.open(Path(folder) / "film" / "pictures" / "picture-0001.png") as frame:
            clear = frame.convert("RGBA")
    film = Image.new("RGBA", clear.size, (146, 170, 186))
    ground = ImageDraw.Draw(film)
    wide, high = clear.size
    ground.rectangle((0, 0.46 * high, wide, 0.58 * high), fill=(84, 116, 132))
    ground.rectangle((0, 0.58 * high, wide, high), fill=(150, 142, 128))
    ground.polygon(
        [(0, 0.46 * high), (0, 0.3 * high), (0.22 * wide, 0.24 * high), (0.4 * wide, 0.46 * high)], fill=(112, 128, 104)
    )
    ground.rectangle((0.62 * wide, 0.28 * high, 0.86 * wide, 0.58 * high), fill=(136, 92, 78))
    ground.polygon(
        [(0.6 * wide, 0.28 * high), (0.74 * wide, 0.2 * high), (0.88 * wide, 0.28 * high)], fill=(88, 70, 66)
    )
    film.alpha_composite(clear)
    seen = film.convert("RGB").resize((wide * 2 // 3, high * 2 // 3), Image.Resampling.LANCZOS)
    file = io.BytesIO()
    seen.quantize(COLOURS, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(file, "PNG", optimize=True)
    yield OVERLAY, file.getvalue()


def small(picture: Image.Image, seen: Seen | None = None) -> bytes:
    """A picture as PNG in its most frequent colours: a page has few, and the file is a third of the size.

    What it shows goes into the same file.
    """
    pixels = np.asarray(picture.convert("RGB"), dtype=np.int32)
    packed, at, counts = np.unique(pixels @ (1 << 16, 1 << 8, 1), return_inverse=True, return_counts=True)
    colours = np.stack([packed >> 16, packed >> 8 & 255, packed & 255], axis=1)
    frequent = colours[np.argsort(-counts, kind="stable")[:COLOURS]]
    nearest = np.argmin(((colours[:, np.newaxis] - frequent) ** 2).sum(axis=2), axis=1).astype(np.uint8)
    few = Image.fromarray(nearest[at].reshape(pixels.shape[:2]), "P")
    few.putpalette(frequent.astype(np.uint8).tobytes())
    file = io.BytesIO()
    few.save(file, "PNG", optimize=True, pnginfo=None if seen is None else noted(seen))
    return file.getvalue()


def look_alike(one: Image.Image, other: Image.Image) -> bool:
    """Whether nobody could tell two pictures apart: same size, and no patch of three by three that differs visibly."""
    if one.size != other.size:
        return False
    soft = [np.asarray(each.convert("RGB").filter(ImageFilter.BoxBlur(1)), dtype=np.int16) for each in (one, other)]
    return int(np.abs(soft[0] - soft[1]).max()) <= VISIBLE


def same(name: str, made: bytes, kept: bytes) -> bool:
    """Whether a picture looks as the one that is kept; a drawing is the same where its text is."""
    if name.endswith(".svg"):
        return made == kept
    if not look_alike(Image.open(io.BytesIO(made)), Image.open(io.BytesIO(kept))):
        return False
    now, before = seen_in(io.BytesIO(made)), seen_in(io.BytesIO(kept))
    return now is None or (before is not None and differences(before, now) == [])


def keep(name: str, made: bytes) -> None:
    """Write a picture where it is new or looks different, and say so."""
    path = PICTURES / name
    if not path.exists() or not same(name, made, path.read_bytes()):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(made)
        print(path.relative_to(ROOT))


def main(wanted: list[str]) -> None:
    """Make the pictures of these names, or all."""
    from docs.screens import SCREENS, photographed

    for drawing in DRAWINGS:
        if not wanted or drawing.name in wanted:
            for name, made in drawn(drawing):
                keep(name, made)
    if not wanted or "ticket" in wanted:
        for name, made in ticket():
            keep(name, made)
    if not wanted or "sealed-ticket" in wanted:
        for name, made in sealed_ticket():
            keep(name, made)
    for name, explained in EXPLAINED.items():
        if not wanted or name in wanted:
            for theme in THEMES:
                keep(f"{theme}/{name}.svg", explained(theme).encode())
    if not wanted or "overlay" in wanted:
        for name, made in overlay():
            keep(name, made)
    screens = [screen for screen in SCREENS if not wanted or screen.name in wanted]
    if screens:
        for name, picture, seen in photographed(screens):
            keep(name, small(picture, seen))


if __name__ == "__main__":
    main(sys.argv[1:])
