"""The files of the pages: templates, scripts, styles and pictures lie beside the page that they belong to.

A browser sees them all under ``/static/``, so each name is taken once; a template is found by its name too. Scripts are
sent without what only people read (``bare``), and what is text is packed once for all who ask for it.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path

from steelyard.web.pages.shell.bare import bare

PAGES = Path(__file__).parents[1]

_IN_TEMPLATE = re.compile(r'"/static/([\w.-]+)(\?v=\{\{ frame\.version \}\})?"')
_IN_STYLE = re.compile(r"url\(\"?(?:/static/)?([\w.-]+)\"?\)")
_IN_SCRIPT = re.compile(r'^(?:import|export) .*"\./([\w.-]+)";$|^\} from "\./([\w.-]+)";$', re.MULTILINE)
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
def script_as_sent(name: str) -> str:
    """The text of a script without comments, indents and spaces that part nothing.

    Raises
    ------
    KeyError: there is no such script.
    """
    return bare(sent_files()[name].read_text(encoding="utf-8"))


@cache
def packed(name: str) -> bytes | None:
    """A script as it is sent, packed by Brotli; None where the computer has no Brotli.

    Raises
    ------
    KeyError: there is no such script.
    """
    try:
        import brotli  # pyright: ignore[reportMissingTypeStubs] - it has none
    except ImportError:  # it is a compiled library, which some computers lack
        return None
    compress: Callable[[bytes], bytes] = vars(brotli)["compress"]  # it has no types
    return compress(script_as_sent(name).encode())


@cache
def template_folders() -> tuple[Path, ...]:
    """The folders that hold templates."""
    return tuple(sorted({path.parent for path in _by_name(sorted(PAGES.rglob("*.html"))).values()}))


@cache
def addresses_asked_for() -> tuple[str, ...]:
    """Every address under ``/static/`` that a template, a style or a script asks for, in alphabetical order."""
    mark = f"?v={version()}"
    found: set[str] = set()
    for folder in template_folders():
        for path in folder.glob("*.html"):
            for name, marked in _IN_TEMPLATE.findall(path.read_text(encoding="utf-8")):
                found.add(f"{name}{mark if marked else ''}")
    for path in sent_files().values():
        if path.suffix == ".css":
            found.update(_IN_STYLE.findall(path.read_text(encoding="utf-8")))
        elif path.suffix == ".js":
            found.update(one or other for one, other in _IN_SCRIPT.findall(path.read_text(encoding="utf-8")))
    return tuple(f"/static/{name}" for name in sorted(found))


@cache
def version() -> str:
    """A name for the scripts and styles as they are sent now: other files, or more left out of them, have another."""
    digest = hashlib.sha256(Path(__file__).with_name("bare.py").read_bytes())
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
