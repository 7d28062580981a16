"""Web: the weigh station, pages for tablet and desk and a small interface for programs, over one set of use cases.

Owns who may, what is told to whom and when, and how it looks. Computes no load and no verdict. Begin at ``app.py``.
Read ``cli`` next.
"""

from steelyard.web.app import create_app, description
from steelyard.web.http.authority import AuthorityError
from steelyard.web.http.pairing import PairingCode, qr_terminal
from steelyard.web.run import Ready, prepare
from steelyard.web.settings import DEFAULT_PORT, Settings, default_store
from steelyard.web.station.events import EVENTS
from steelyard.web.station.ports import SourceError

__all__ = [
    "DEFAULT_PORT",
    "EVENTS",
    "AuthorityError",
    "PairingCode",
    "Ready",
    "Settings",
    "SourceError",
    "create_app",
    "default_store",
    "description",
    "prepare",
    "qr_terminal",
]
