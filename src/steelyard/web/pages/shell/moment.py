"""Moments on a page: in UTC, and so marked that a script shows them in the zone of the device."""

from __future__ import annotations

import datetime

from markupsafe import Markup, escape


def moment(when: datetime.datetime, *, to_the_second: bool = False) -> Markup:
    """A moment as an element of a page: ``2026-11-30 21:17 UTC`` until ``moment.js`` shows it by the device's clock.

    One without a zone, as a file may give it, is shown as it was written.
    """
    shape = "%Y-%m-%d %H:%M:%S" if to_the_second else "%Y-%m-%d %H:%M"
    if when.tzinfo is None:
        return Markup('<time datetime="{}">{}</time>').format(when.isoformat(timespec="seconds"), f"{when:{shape}}")
    utc = when.astimezone(datetime.UTC)
    return Markup('<time datetime="{}" data-local{}>{} UTC</time>').format(
        f"{utc:%Y-%m-%dT%H:%M:%SZ}", Markup('="seconds"') if to_the_second else "", f"{utc:{shape}}"
    )


def moment_of(text: str) -> Markup:
    """The same of a moment as the store writes it; any other text as it is."""
    try:
        return moment(datetime.datetime.fromisoformat(text))
    except ValueError:
        return escape(text)


def moment_text(when: datetime.datetime, *, to_the_second: bool = False) -> str:
    """The same as plain text, for a place that holds no element, such as an option; ``moment.js`` turns it there."""
    utc = when.astimezone(datetime.UTC)
    return f"{utc:%Y-%m-%d %H:%M:%S} UTC" if to_the_second else f"{utc:%Y-%m-%d %H:%M} UTC"
