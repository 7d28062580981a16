"""A link of a template is made from the one line of its address: by name, with what its path takes."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from steelyard.web.app import addresses
from steelyard.web.http.routes import Address
from steelyard.web.pages.shell.files import PAGES

TEMPLATES = sorted(PAGES.rglob("*.html"))
LITERAL = re.compile(r"""(?:=["']|["'](?=/\w))(/(?!static/)[^"'<>]*)["']""")
MADE = re.compile(r'\bto\("(\w+)"((?:, \w+=[\w.]+)*)\)')


def test_no_template_writes_the_path_of_an_address() -> None:
    found = [f"{path.name}: {link}" for path in TEMPLATES for link in LITERAL.findall(path.read_text(encoding="utf-8"))]
    assert found == [], "\n".join(found)


def test_a_written_path_is_seen() -> None:
    assert LITERAL.findall('<a class="button" href="/days/{{ page.id }}">') == ["/days/{{ page.id }}"]
    assert LITERAL.findall('<script src="/static/ask.js"></script><a href="{{ to("home") }}">') == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_every_link_leads_to_an_address(path: Path) -> None:
    known = {item.name: item for item in addresses() if isinstance(item, Address)}
    text = path.read_text(encoding="utf-8")
    made = MADE.findall(text)
    assert len(made) == len(re.findall(r"\bto\((?!name\))", text))  # the head says its three names in a list
    for name, given in made:
        assert name in known, name
        assert set(re.findall(r"(\w+)=", given)) == known[name].param_convertors.keys(), name


def test_addresses_have_a_name_of_their_own() -> None:
    names = Counter(item.name for item in addresses() if isinstance(item, Address))
    assert [name for name, times in names.items() if times > 1] == []
