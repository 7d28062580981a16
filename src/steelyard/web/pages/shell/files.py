"""The files of the pages: templates, scripts, styles and pictures lie beside the page that they belong to.

A browser sees them all under ``/static/``, so each name is taken once; a template is found by its name too.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

PAGES = Path(__file__).parents[1]

_SENT = frozenset({".js", ".css", ".svg", ".png", ".webmanifest"})


@cache
def sent_files() -> Mapping[str, Path]:
    """By name every file that a browser may ask for.

    Raises
    ------
    ValueError: two files have the same name.
    """
    return _by_name(path for path in sorted(PAGES.rglob("*")) if path.suffix in _SENT)


@cache
def template_folders() -> tuple[Path, ...]:
    """The folders that hold templates."""
    return tuple(sorted({path.parent for path in _by_name(sorted(PAGES.rglob("*.html"))).values()}))


@cache
def version() -> str:
    """A name for the scripts and styles as they are now: other files have another name."""
    digest = hashlib.sha256()
    for name, path in sent_files().items():
        digest.update(name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:10]


def _by_name(paths: Iterable[Path]) -> dict[str, Path]:
    found: dict[str, Path] = {}
    for path in paths:
        if path.name in found:
            raise ValueError(f"{path} and {found[path.name]} have the same name")
        found[path.name] = path
    return found
