"""The page that checks seals, as a file: its script and its style, allowed by digest, and no address."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from steelyard.seals.page import check_page
from tests.house.source import SOURCE

PAGE = SOURCE / "seals" / "page"
SCRIPTS = sorted((PAGE / "scripts").glob("*.js"))


class Elements(HTMLParser):
    """Attributes of every element, and the text of those that hold one as it is."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.attributes: list[tuple[str, str | None]] = []
        self.texts: dict[str, str] = {}
        self.ids: dict[str, str] = {}
        self._open = ""
        self.feed(page.decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += attrs
        values = dict(attrs)
        self.ids[values.get("id") or ""] = tag
        self._open = f"{tag} {values.get('type') or ''}".strip()
        if tag == "meta" and values.get("http-equiv") == "Content-Security-Policy":
            self.texts["policy"] = values["content"] or ""

    def handle_data(self, data: str) -> None:
        if self._open:
            self.texts[self._open] = self.texts.get(self._open, "") + data

    def handle_endtag(self, tag: str) -> None:
        del tag
        self._open = ""


def digest_of(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def test_its_policy_allows_its_own_script_and_style_and_no_address() -> None:
    page = Elements(check_page())
    policy = dict(part.strip().split(" ", 1) for part in page.texts["policy"].split(";"))
    assert policy == {
        "default-src": "'none'",
        "script-src": digest_of(page.texts["script module"]),
        "style-src": digest_of(page.texts["style"]),
        "connect-src": "'none'",
        "form-action": "'none'",
        "base-uri": "'none'",
        "require-trusted-types-for": "'script'",
        "trusted-types": "'none'",
    }
    names = {name for name, _ in page.attributes}
    assert not names & {"src", "href", "action", "style", "srcset", "poster"}
    assert not {name for name in names if name.startswith("on")}


def test_it_is_the_same_twice_and_keys_change_only_their_own_place() -> None:
    assert check_page() == check_page()
    known = b'{"format": 1, "name": "</script><b>Olive", "keys": []}'
    page = Elements(check_page(known))
    assert json.loads(page.texts["script application/json"]) == known.decode()
    assert page.texts["script module"] == Elements(check_page()).texts["script module"]
    assert json.loads(Elements(check_page()).texts["script application/json"]) is None


def test_the_reader_of_codes_is_the_file_that_is_noted_and_its_licence_goes_with_it() -> None:
    name, digest = (PAGE / "reader" / "VERSION").read_text("utf-8").splitlines()
    reader = (PAGE / "reader" / "qr-reader.js").read_bytes()
    assert hashlib.sha256(reader).hexdigest() == digest
    assert re.fullmatch(r"qr \d+\.\d+\.\d+", name)
    script = Elements(check_page()).texts["script module"]
    licence = (PAGE / "reader" / "LICENSE").read_text("utf-8").splitlines()
    assert all(line in script for line in licence)
    assert reader.decode().split("export {")[0] in script


@pytest.mark.parametrize(
    "word",
    [r"\beval\(", r"new Function\b", "WebAssembly", r"\bfetch\(", "XMLHttpRequest", "innerHTML", r"await import\("],
)
def test_no_script_makes_code_or_markup_of_a_text_or_asks_anybody(word: str) -> None:
    files = [*SCRIPTS, PAGE / "reader" / "qr-reader.js"]
    assert len(files) > 15
    assert [path.name for path in files if re.search(word, path.read_text("utf-8"))] == []


def test_every_element_that_a_script_asks_for_is_on_the_page() -> None:
    ids = Elements(check_page()).ids
    tags = {"TextArea": "textarea", "Paragraph": "p", "UList": "ul", "Heading": "h2"}
    asked = [
        (name, tags.get(kind, kind.lower()))
        for path in SCRIPTS
        for name, kind in re.findall(r'\belement\("([^"]+)", HTML(\w+?)Element\)', path.read_text("utf-8"))
    ]
    assert len(asked) > 10
    assert [(name, tag) for name, tag in asked if ids.get(name) != tag] == []


def test_every_script_is_checked_strictly_and_by_the_linter() -> None:
    root = Path(__file__).parents[2]
    for name in ("tsconfig.json", "biome.json"):
        assert '"src/steelyard/seals/page/scripts/*.js"' in (root / name).read_text("utf-8")
    unchecked = re.compile(r"@ts-|\{any\}|: any\b|\bany\)")
    assert [path.name for path in SCRIPTS if unchecked.search(path.read_text("utf-8"))] == []
