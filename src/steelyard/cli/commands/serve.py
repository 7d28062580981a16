"""``steelyard serve``: open the weigh station, a web page for tablet and desk."""

from __future__ import annotations

import os

import click

from steelyard.cli.options import Count, say_faults
from steelyard.cli.say import say, say_error
from steelyard.dayfile import DayFileError
from steelyard.store import StoreError
from steelyard.web import (
    DEFAULT_PORT,
    AuthorityError,
    PairingCode,
    Ready,
    Settings,
    SourceError,
    default_store,
    prepare,
    qr_terminal,
)


@click.command()
@click.option("--port", type=Count(0, 65535), default=DEFAULT_PORT, help="To listen on; 0 takes a free one.")
@click.option(
    "--store", metavar="PATH|URL", help="SQLite file, or postgresql:// address; otherwise in your data folder."
)
@click.option("--token", envvar="STEELYARD_TOKEN", metavar="T", help="Let scripts in that show this token.")
@click.option("--lan", is_flag=True, help="Let devices on the network in, once they are paired.")
@click.option("--https", is_flag=True, help="Speak TLS; the port after --port hands out the certificate.")
@click.option("--simulate", metavar="DAY.toml", type=click.Path(), help="Drive the rig of this day onto virtual pads.")
@click.option(
    "--instrument",
    "instruments",
    multiple=True,
    metavar="NAME=ADDRESS",
    help="Read live loads, as in p1=serial:/dev/ttyUSB0@9600 or p1=tcp:HOST:PORT; may be given again.",
)
@click.option(
    "--pattern",
    "patterns",
    multiple=True,
    metavar="NAME=PATTERN",
    help="Read its lines by this taught pattern; may be given again. Otherwise chosen in the browser.",
)
@click.option(
    "--pad",
    "pads",
    multiple=True,
    metavar="NAME/CHANNEL=PAD",
    help="Which pad a channel of an instrument is; may be given again. Otherwise chosen in the browser.",
)
@click.option(
    "--register",
    "registers",
    multiple=True,
    metavar="CHANNEL=...",
    help="What a Modbus instrument has where, as in p1=holding:100:int32:lb; may be given again.",
)
@click.option(
    "--key-folder",
    "keys",
    metavar="FOLDER",
    help="The folder of keys; otherwise that of STEELYARD_KEYS, or one beside the usual store.",
)
def serve(
    port: int,
    store: str | None,
    token: str | None,
    lan: bool,
    https: bool,
    simulate: str | None,
    instruments: tuple[str, ...],
    registers: tuple[str, ...],
    patterns: tuple[str, ...],
    pads: tuple[str, ...],
    keys: str | None,
) -> None:
    """Open the weigh station: a web page for tablet and desk, and an interface for programs under /api/v1.

    Only this machine may come in unless --lan is given. Everything that is kept lies in the store.
    """
    if token is not None and (not token.strip() or not token.isascii() or not token.isprintable()):
        raise click.UsageError("--token is empty or holds what no header can carry; use letters and digits")
    settings = Settings(
        store=default_store() if store is None else os.path.expanduser(store),  # noqa: PTH111 - may be a URL
        port=port,
        token=None if token is None else token.strip(),
        lan=lan,
        https=https,
        simulate=simulate,
        instruments=instruments,
        registers=registers,
        patterns=patterns,
        pads=pads,
        keys=keys,
    )
    ready = _prepared(settings)
    _say_where(ready)
    ready.serve()
    say("The station is closed; what was kept is in the store.")


def _prepared(settings: Settings) -> Ready:
    """Everything that can go wrong before the first request, in one message each."""
    try:
        return prepare(settings)
    except DayFileError as error:
        say_faults(error)
    except (StoreError, SourceError, AuthorityError) as error:
        say_error(str(error))
    except OSError as error:
        what = f"port {settings.port}" if error.filename is None else str(error.filename)
        say_error(f"{what}: {error.strerror or error}")
    except ValueError as error:
        say_error(f"{settings.simulate}: {error}")
    raise click.exceptions.Exit(2)


def _say_where(ready: Ready) -> None:
    station = ready.station
    say(f"The weigh station is at {ready.address}")
    if ready.plain_address:
        say(f"This machine may as well open it at {ready.plain_address}, with nothing to trust first")
    say(f"Its store is {station.store.where}")
    if ready.lan_address:
        offer = ready.door.pairing.offer()
        say(f"On the network it is at {ready.lan_address}, for devices that show the code {offer.code}, good once")
        say(f"and for ten minutes; later, {ready.plain_address or ready.address}pair shows another on this machine")
        say(qr_terminal(offer.url))
        ready.door.pairing.tell = _say_code
    elif station.settings.lan:
        say("This machine is on no network, so nothing else can reach it.")
    if ready.trust_address:
        say(f"A tablet gets the station's certificate at {ready.trust_address}; its SHA-256 fingerprint is")
        say(ready.fingerprint)
        if station.settings.lan:
            say(qr_terminal(ready.trust_address))
    say("Stop it with Ctrl-C.")


def _say_code(offer: PairingCode, why: str) -> None:
    """The code that was printed is no longer good: print the one that is."""
    say(f"{why}; the next device shows the code {offer.code}, good once and for ten minutes")
