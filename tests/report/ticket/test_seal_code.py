"""The code on a sealed ticket has its true size; another program reads it from the printed page, askew and blurred."""

from __future__ import annotations

import io
from functools import lru_cache
from typing import Any

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from steelyard.model import axle_load, gross_load, wheel_load
from steelyard.report.print.code import LARGEST_VERSION, printed_code
from steelyard.report.print.sealed import seal_content, seal_to_print
from steelyard.report.tables.seals.authenticate import authenticate_text
from steelyard.seals.authenticate.judge import SealJudge, judge
from steelyard.seals.authenticate.pieces import Carrier, FoundSeal, Origin
from steelyard.seals.carrier import MOST_LETTERS, uncarried
from steelyard.seals.known import KnownKeys
from steelyard.seals.sealing import DayToSeal
from tests.report.ticket.sealed_sample import SEALED_AT, seal_of, sealed_ticket, to_print, weighed

NAME = "stage-wagon"
"""Its code has version 20, the largest."""

INCH = 25.4  # mm


@lru_cache(maxsize=5)
def scanned(dpi: int, paper: str = "letter") -> Image.Image:
    """The last page of the record in grey, with that many dots an inch."""
    pdf = pypdfium2.PdfDocument(sealed_ticket(NAME, paper))
    scale: Any = dpi / 72  # the library's own hint says a whole number
    return pdf[len(pdf) - 1].render(scale=scale, grayscale=True).to_pil().convert("L")


def read(image: Image.Image) -> str | None:
    found = zxingcpp.read_barcodes(image)
    return found[0].text if found else None


def text() -> str:
    return to_print(*weighed(NAME)).seal.text


def blurred(image: Image.Image, pixels: float) -> Image.Image:
    return image.filter(ImageFilter.GaussianBlur(pixels))


def unevenly_lit(image: Image.Image) -> Image.Image:
    """Half the light on the left."""
    light = np.linspace(0.5, 1.0, image.width)[None, :]
    return Image.fromarray((np.asarray(image, dtype=float) * light).astype(np.uint8))


def as_jpeg(image: Image.Image) -> Image.Image:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=60)
    return Image.open(io.BytesIO(out.getvalue()))


@pytest.mark.parametrize("dpi", [150, 200, 300])
def test_the_code_is_read_from_the_printed_page(dpi: int) -> None:
    assert read(scanned(dpi)) == text()


@pytest.mark.parametrize("degrees", [-8, 4, 90])
def test_the_code_is_read_from_a_page_that_lies_askew_blurred_in_uneven_light(degrees: int) -> None:
    turned = scanned(200).rotate(degrees, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    assert read(as_jpeg(unevenly_lit(blurred(turned, 1.0)))) == text()


def test_what_was_read_from_paper_is_the_seal() -> None:
    found = read(as_jpeg(blurred(scanned(200), 0.8)))
    assert found is not None
    assert uncarried(found) == to_print(*weighed(NAME)).seal.data


def test_a_blur_of_two_modules_cannot_be_read() -> None:
    assert read(blurred(scanned(200), 8.0)) is None


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_module_on_the_page_is_half_a_millimetre_wide(paper: str) -> None:
    dpi = 600
    page = scanned(dpi, paper)
    (found,) = zxingcpp.read_barcodes(page.resize((page.width // 2, page.height // 2)))
    corners = found.position
    xs = [2 * corner.x for corner in (corners.top_left, corners.bottom_right)]
    ys = [2 * corner.y for corner in (corners.top_left, corners.bottom_right)]
    around = 24  # pixels, of the quiet zone of 47
    box = np.asarray(page)[min(ys) - around : max(ys) + around, min(xs) - around : max(xs) + around] < 128
    dark_rows, dark_columns = np.flatnonzero(box.any(axis=1)), np.flatnonzero(box.any(axis=0))
    modules = 17 + 4 * printed_code(text()).version
    assert modules == 97
    for dark in (dark_rows, dark_columns):
        side = (dark[-1] - dark[0] + 1) / dpi * INCH
        assert side == pytest.approx(0.5 * modules, abs=2 * INCH / dpi)


def test_the_quiet_zone_is_white_on_every_side() -> None:
    dpi = 300
    page = scanned(dpi)
    (found,) = zxingcpp.read_barcodes(page)
    corners, zone = found.position, int(2.0 / INCH * dpi) - 3
    left, right = corners.top_left.x, corners.top_right.x
    top, bottom = corners.top_left.y, corners.bottom_left.y
    seen = np.array(page)[top - zone : bottom + zone, left - zone : right + zone]
    seen[zone - 3 : 3 - zone, zone - 3 : 3 - zone] = 255
    assert seen.min() == 255


def test_a_text_of_the_most_letters_needs_version_20_and_one_more_is_refused() -> None:
    assert printed_code("A" * MOST_LETTERS).version == LARGEST_VERSION
    with pytest.raises(ValueError, match="971 letters needs a code of version 21; 20 is the most"):
        printed_code("A" * (MOST_LETTERS + 1))


def many_states(count: int, title: str) -> DayToSeal:
    """A day whose findings fill any code."""
    measurands = (gross_load("tow"), axle_load("tow", 1), wheel_load("tow", "1L"))
    places = [measurand.named_at(f"s{state}") for state in range(count) for measurand in measurands]
    findings = [
        {"id": place, "basis": "measured", "value": 1000.1 + 7.3 * number, "u": 12.3, "contested": False}
        for number, place in enumerate(places)
    ]
    verdicts = [{"id": f"{place}:gvwr", "verdict": "outside"} for place in places]
    content = {
        "file": "",
        "units": {"mass": "lb"},
        "findings": findings,
        "verdicts": verdicts,
        "consistency": {"p": None},
    }
    rules = tuple((f"rules-{number}", "an edition with a long name " * 3) for number in range(12))
    return DayToSeal(content, b"", bytes(32), title, "2026-11-30", rules, None)


@pytest.mark.parametrize(("count", "title", "left_out"), [(60, "A", 4), (60, "\u8eca" * 500, 4), (1, "Long " * 200, 0)])
def test_the_largest_day_has_a_code_that_can_be_read(count: int, title: str, left_out: int) -> None:
    seal = seal_of(many_states(count, title))
    code = printed_code(seal.text)
    assert seal.record.left_out == left_out
    assert code.version <= LARGEST_VERSION
    assert code.side <= 52.5


def test_a_seal_without_figures_says_that_nothing_on_paper_can_be_compared() -> None:
    content = many_states(60, "A")
    seal = seal_of(content)
    paragraphs: Any = seal_content(seal_to_print(seal, content, "a.toml"))[0]["paragraphs"]
    assert "From paper nothing can be compared" in paragraphs[-1]["text"]
    judged = judge([FoundSeal(Origin("a.seal"), Carrier.FILE, seal.data)], SealJudge(KnownKeys().standing, SEALED_AT))
    said = " ".join(authenticate_text(judged).split())
    assert "the seal carries no figure, so nothing on the paper can be checked with it" in said
    assert "hold the figures" not in said
