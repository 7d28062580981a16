"""The page of a published folder as HTML: one file that holds its drawings, and asks nothing of anybody."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import astuple
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from steelyard import __version__
from steelyard.findings import STANDING
from steelyard.publish.cite import date_weighed, sentence
from steelyard.publish.edition import Weighing, plain
from steelyard.publish.page.compared import compared_part
from steelyard.publish.page.contracts import BriefLine, FileLink, PublishedPage
from steelyard.publish.page.rig import LINE, link, rig_part
from steelyard.publish.pictures import Picture
from steelyard.publish.recompute import commands
from steelyard.report import pieces
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.tables.brief import brief_words

_HERE = Path(__file__).parent


def page_html(
    weighing: Weighing, chart: Picture | None, pictures: Mapping[str, Sequence[Picture]], data: Mapping[str, bytes]
) -> bytes:
    """The page.

    Parameters
    ----------
    chart: the picture of the comparison. pictures: those of each day, by its name. data: the data files by path.
    """
    page = _page(weighing, chart, pictures, data)
    style = _style()
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    template = _templates().get_template("page.html")
    return template.render(page=page, style=Markup(style), policy=f"sha256-{digest}").encode()  # noqa: S704 - our own


def _page(
    weighing: Weighing, chart: Picture | None, pictures: Mapping[str, Sequence[Picture]], data: Mapping[str, bytes]
) -> PublishedPage:
    rigs = [rig_part(day, pictures[day.name], number) for number, day in enumerate(weighing.days, 1)]
    brief = [
        BriefLine(rig.anchor, rig.title, brief_words(day.findings, LINE))
        for rig, day in zip(rigs, weighing.days, strict=True)
    ]
    compared = None if weighing.comparison is None else compared_part(weighing.comparison, chart)
    return PublishedPage(
        title=weighing.title,
        subtitle=_subtitle(weighing),
        logo=_logo(weighing.edition.logo),
        about=" ".join(f"{line.name}: {line.words}." for line in brief)[:300],
        brief=tuple(brief),
        compared=compared,
        rigs=tuple(rigs),
        method=tuple(" ".join(text.split()) for text in pieces.METHOD),
        cautions=_cautions(weighing),
        citation=sentence(weighing),
        commands=tuple((one.command, one.gives) for one in commands(weighing)),
        data=tuple(_data_links(weighing, data)),
        version=__version__,
    )


def _logo(logo: Logo | None) -> str:
    """The address of a logo that holds the picture itself."""
    return "" if logo is None else f"data:{logo.media};base64,{base64.b64encode(logo.data).decode()}"


def _subtitle(weighing: Weighing) -> str:
    date = date_weighed(weighing)
    return ", ".join([*weighing.authors, *([] if date is None else [date.isoformat()])])


def _cautions(weighing: Weighing) -> tuple[str, ...]:
    """Cautions of the comparison and of each day, then those of every day, each once."""
    own = list(weighing.comparison.cautions) if weighing.comparison is not None else []
    several = len(weighing.days) > 1
    for day in weighing.days:
        own += [f"{day.title}: {text}" if several else text for text in day.findings.cautions]
    return tuple(dict.fromkeys((*own, *STANDING)))


def _data_links(weighing: Weighing, data: Mapping[str, bytes]) -> list[FileLink]:
    rest = ["datapackage.json", "CITATION.cff", "README.txt", "SHA256SUMS"]
    if weighing.comparison is not None:
        rest.insert(0, "text/comparison.txt")
    return [link(path, path) for path in [*data, *rest]]


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(_HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )


def _shown(value: Any) -> Any:
    """A text without the signs that turn a line around, its percentages held together; a drawing stays as it is."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    text = plain(value).replace(" %", "\N{NO-BREAK SPACE}%")
    return text.replace("< ", "<\N{NO-BREAK SPACE}").replace("> ", ">\N{NO-BREAK SPACE}")


@cache
def _style() -> str:
    """The style sheet, with the colours of the drawings; in the dark each colour of a drawing becomes its dark one."""
    light, dark = pieces.PALETTES["light"], pieces.PALETTES["dark"]
    text = (_HERE / "page.css").read_text(encoding="utf-8")
    for name, palette in (("light", light), ("dark", dark)):
        for field in ("ground", "ink", "soft", "hair", "body", "accent"):
            text = text.replace(f"var(--{name}-{field})", str(getattr(palette, field)))
    pairs = [(old, new) for old, new in zip(astuple(light), astuple(dark), strict=True) if str(old).startswith("#")]
    rules = [f'  svg [{way}="{old}"] {{ {way}: {new}; }}' for old, new in pairs for way in ("fill", "stroke")]
    return text.replace("/* the drawings in the dark */", "\n".join(rules))
