"""What the service worker keeps at hand is what templates, styles and scripts ask for: all of it, and nothing else."""

from __future__ import annotations

from steelyard.web.pages.shell.files import addresses_asked_for, sent_files, version

NOBODY_ASKS = {"sw.js", "icon-512.png", "icon-maskable-512.png"}
"""The worker itself, and icons that the manifest names: a system fetches these when the station is put on a desk."""


def test_every_file_is_asked_for_and_every_file_that_is_asked_for_is_there() -> None:
    names = {address.removeprefix("/static/").partition("?")[0] for address in addresses_asked_for()}
    assert names == set(sent_files()) - NOBODY_ASKS


def test_scripts_of_templates_carry_the_version_and_those_of_scripts_do_not() -> None:
    asked = addresses_asked_for()
    assert {f"/static/ask.js?v={version()}", f"/static/indicators.js?v={version()}", "/static/finding-id.js"} <= set(
        asked
    )
    assert "/static/ask.js" not in asked
