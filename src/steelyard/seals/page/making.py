"""Makes the page that checks seals: template, style, scripts and known keys, joined into one file.

The scripts are modules, and each keeps its names to itself: a module becomes a function that gives what it exports. The
page's own policy allows exactly this style and these scripts, by their digests, and no address at all.
Source of the policy: W3C Content Security Policy Level 3.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterator
from functools import cache
from importlib.resources import files

from steelyard import __version__

_FIRST = "scripts/main.js"
_READER = "reader/qr-reader.js"
_IMPORT = re.compile(r'^import \{([^}]*)\} from "([^"]+)";\n?', re.MULTILINE)
_EXPORT = re.compile(r"^export (?:async )?(?:function|class|const) (\w+)", re.MULTILINE)
_EXPORT_LIST = re.compile(r"^export \{([^}]*)\};\n?", re.MULTILINE)
_POLICY = (
    "default-src 'none'; script-src '{script}'; style-src '{style}'; connect-src 'none'; form-action 'none'; "
    "base-uri 'none'; require-trusted-types-for 'script'; trusted-types 'none'"
)


def check_page(known: bytes | None = None) -> bytes:
    """The page as one HTML file, always the same for the same keys.

    Parameters
    ----------
    known: the bytes of a ``keys.json`` that the page is to know by itself, already read and found sound.

    Raises
    ------
    UnicodeDecodeError: the keys are not in UTF-8.
    """
    script, style = _script(), _part("check.css")
    keys = None if known is None else known.decode("utf-8-sig")
    policy = _POLICY.format(script=_hash(script), style=_hash(style))
    parts = {
        "POLICY": policy,
        "STYLE": style,
        "VERSION": __version__,
        "KNOWN": json.dumps(keys).replace("<", "\\u003c"),
        "SCRIPT": script,
    }
    page = re.sub(r"\b(POLICY|STYLE|VERSION|KNOWN|SCRIPT)\b", lambda found: parts[found[1]], _part("check.html"))
    return page.encode()


def _hash(text: str) -> str:
    """The digest by which a policy allows an element with this text."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


@cache
def _part(name: str) -> str:
    return (files("steelyard") / "seals" / "page" / name).read_text(encoding="utf-8")


@cache
def _script() -> str:
    """All scripts as one, each behind those that it imports."""
    notice = "".join(f" * {line}".rstrip() + "\n" for line in _part("reader/LICENSE").splitlines())
    modules = "\n".join(_module(name) for name in _in_order(_FIRST, set()))
    script = f"/* The part qr-reader is the library qr:\n{notice} */\n{modules}"
    if "</script" in script.lower():
        raise ValueError("a script of the page has a text that would end it")
    return script


def _in_order(name: str, seen: set[str]) -> Iterator[str]:
    """The modules that one needs, each once, and then itself."""
    if name not in seen:
        seen.add(name)
        for _, target in _IMPORT.findall(_part(name)):
            yield from _in_order(_resolved(target), seen)
        yield name


def _resolved(target: str) -> str:
    return _READER if target.startswith("../") else target.replace("./", "scripts/")


def _module(name: str) -> str:
    """A module as a function that is called once: its imports taken from others, its exports given back."""
    text = _part(name)
    exported = _EXPORT.findall(text)
    for names in _EXPORT_LIST.findall(text):
        exported += [item.strip() for item in names.split(",") if item.strip()]
    body = _EXPORT_LIST.sub("", _EXPORT.sub(lambda found: found[0].removeprefix("export "), text))
    body = _IMPORT.sub(lambda found: f"const {{ {found[1].strip()} }} = {_value(_resolved(found[2]))};\n", body)
    return f"const {_value(name)} = (() => {{\n{body}\nreturn {{ {', '.join(exported)} }};\n}})();\n"


def _value(name: str) -> str:
    """The name under which a module stands in the whole: ``$qr_reader``."""
    return "$" + name.rpartition("/")[2].removesuffix(".js").replace("-", "_")
