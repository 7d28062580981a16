"""Builds the documents as a site: ``make site`` writes it to ``out/site``, with a search that needs no network.

Sphinx reads the same Markdown that the forge shows. The pages of the site are listed here, in the order of the index;
a test compares the list with the folders.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
START = "README"

SECTIONS: dict[str, tuple[str, ...]] = {
    "Start": ("docs/index", "docs/glossary"),
    "How to": tuple(
        f"docs/how-to/{name}"
        for name in (
            "truck-scale-day",
            "pads-under-some-wheels",
            "platform-in-the-bed",
            "the-ground",
            "height-of-the-centre-of-gravity",
            "fuel-water-people",
            "reading-a-suspect",
            "correcting-a-reading",
            "the-ticket",
            "seals/keys",
            "seals/sealed-ticket",
            "seals/check-a-ticket",
            "seals/check-in-a-browser",
            "seals/at-the-station",
            "seals/the-record",
            "seals/time-and-signature",
            "weigh-station",
            "connecting-an-indicator",
            "verify-pads",
            "plan-the-day",
            "compare-rigs",
            "pictures",
            "video-overlay",
            "publish",
            "what-if",
            "load-map",
            "how-much-trailer",
            "put-it-right",
            "road/may-i-drive-this",
            "weight-distribution",
            "what-is-aboard",
            "ask-the-rig",
            "learn-the-rig",
            "many/many-days",
            "many/simulate",
            "many/several-machines",
            "many/shared-yard",
            "many/move-a-store",
        )
    ),
    "Reference": tuple(
        f"docs/reference/{name}"
        for name in (
            "seal",
            "keys-json",
            "weigh-day-file",
            "numbers",
            "rules-us",
            "rules-eu",
            "rules-elsewhere",
            "rules-parts",
            "verification-file",
            "batch-folder",
            "findings-json",
            "authenticate-json",
            "rules-json",
            "rule-set-file",
            "sweeps",
            "plan-json",
            "http",
            "commands",
            "benchmarks",
            "studies",
        )
    ),
    "Explanations": tuple(
        f"docs/explanations/{name}" for name in ("statics", "adjustment", "uncertainty", "planning", "conformity")
    ),
    "Decisions": tuple(
        f"docs/decisions/{path.stem}"
        for path in sorted((ROOT / "docs" / "decisions").glob("*.md"))
        if "template" not in path.stem
    ),
    "The project": ("CONTRIBUTING", "CHANGELOG"),
}
"""Headings of the site's contents, each with its pages, as paths from the root of the project without their ending."""

project = "Steelyard"
author = "The Steelyard authors"
copyright = ""  # noqa: A001 - the name is Sphinx's
language = "en"
extensions = ["myst_parser"]
root_doc = START
include_patterns = [f"{page}.md" for page in (START, *(page for pages in SECTIONS.values() for page in pages))]
exclude_patterns = ["out", ".venv", "**/__pycache__"]
myst_heading_anchors = 3
suppress_warnings = ["myst.xref_missing"]  # links to files that are no pages (LICENSE, examples) stay as they are
highlight_language = "none"
smartquotes = False

html_theme = "furo"
html_title = "Steelyard"
html_copy_source = False
html_show_sourcelink = False
html_show_copyright = False
html_show_sphinx = False
_FACES = "system-ui, 'DejaVu Sans', sans-serif"
_PLAIN = {"font-stack": _FACES, "font-stack--monospace": "ui-monospace, 'DejaVu Sans Mono', monospace"}
html_theme_options: dict[str, Any] = {
    "light_css_variables": {**_PLAIN, "color-brand-primary": "#17202b", "color-brand-content": "#8a5200"},
    "dark_css_variables": {**_PLAIN, "color-brand-primary": "#e9edf2", "color-brand-content": "#f0b04a"},
    "footer_icons": [],
}


def with_contents(_app: object, name: str, source: list[str]) -> None:
    """Give the first page the contents of the site, and links to a folder a page to lead to.

    The forge, which lists folders itself, sees neither.
    """
    source[0] = _TO_FOLDER.sub(_to_page, source[0])
    if name == START:
        for heading, pages in SECTIONS.items():
            rows = "\n".join(f"/{page}" for page in pages)
            source[0] += f"\n\n```{{toctree}}\n:hidden:\n:caption: {heading}\n\n{rows}\n```\n"


_TO_FOLDER = re.compile(r"\[([^\]]+)\]\(([^)\s]*/)\)")


def _to_page(link: re.Match[str]) -> str:
    words, folder = link.groups()
    first = SECTIONS["Decisions"][0].rpartition("/")[2]
    return f"[{words}]({folder}{first}.md)" if folder.endswith("decisions/") else words


def with_pictures(app: Any, fault: Exception | None) -> None:
    """Lay the pictures where the pages ask for them, and a door at the front."""
    if fault is None:
        out = Path(app.outdir)
        shutil.copytree(ROOT / "docs" / "pictures", out / "docs" / "pictures", dirs_exist_ok=True)
        front = f'<meta http-equiv="refresh" content="0; url={START}.html"><a href="{START}.html">Steelyard</a>'
        page = f'<!doctype html><meta charset="utf-8"><title>Steelyard</title>{front}\n'
        (out / "index.html").write_text(page, encoding="utf-8")


def setup(app: Any) -> None:
    """Tell Sphinx of the two steps above."""
    app.connect("source-read", with_contents)
    app.connect("build-finished", with_pictures)
