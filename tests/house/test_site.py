"""The site of the documents has every page, and asks nobody else for anything. Building it is left to ``make site``."""

from __future__ import annotations

import importlib.util
import re
from types import ModuleType

import pytest

from docs.generate import documents
from tests.house.source import ROOT

CONFIGURATION = ROOT / "docs" / "site" / "conf.py"
TEMPLATES = {"docs/decisions/0000-template"}


@pytest.fixture(scope="module")
def site() -> ModuleType:
    """The configuration, as the generator would read it."""
    spec = importlib.util.spec_from_file_location("site_configuration", CONFIGURATION)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_page_is_listed_once(site: ModuleType) -> None:
    listed = [site.START, *(page for pages in site.SECTIONS.values() for page in pages)]
    pages = [*documents(), ROOT / "CONTRIBUTING.md", ROOT / "CHANGELOG.md"]
    names = {str(path.relative_to(ROOT).with_suffix("")) for path in pages}
    assert sorted(listed) == sorted(names - TEMPLATES)
    assert set(site.include_patterns) == {f"{page}.md" for page in listed}


def test_the_how_tos_come_in_the_order_of_the_index(site: ModuleType) -> None:
    index = (ROOT / "docs" / "index.md").read_text(encoding="utf-8")
    for heading, folder in (("How to", "how-to"), ("Reference", "reference"), ("Explanations", "explanations")):
        names = re.findall(rf"\({folder}/([a-z/-]+)\.md\)", index)
        assert [page.removeprefix(f"docs/{folder}/") for page in site.SECTIONS[heading]] == names


def test_a_link_to_a_folder_leads_to_a_page(site: ModuleType) -> None:
    source = ["[decisions](decisions/), [examples/](examples/), [page](how-to/what-if.md)"]
    site.with_contents(None, "docs/index", source)
    first = site.SECTIONS["Decisions"][0].rpartition("/")[2]
    assert source == [f"[decisions](decisions/{first}.md), examples/, [page](how-to/what-if.md)"]


def test_nothing_comes_from_elsewhere(site: ModuleType) -> None:
    assert "://" not in CONFIGURATION.read_text(encoding="utf-8")
    assert site.html_theme_options["footer_icons"] == []
