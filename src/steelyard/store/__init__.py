"""Store: weigh days kept, in one SQLite file or in PostgreSQL; nothing in it is ever overwritten.

Owns what is durable: days as the text they came in plus what was added, the yard, devices, secrets. Knows neither
the meaning of a reading nor any arithmetic on loads. Begin at ``store.py``. Read ``web`` next.
"""

from steelyard.store.copying import Copied, CopiedTable, copy_store
from steelyard.store.fault import Reason, StoreError
from steelyard.store.news import Hearer, News
from steelyard.store.photos import check_photo
from steelyard.store.records import (
    LARGEST_PHOTO,
    LARGEST_SWEEP,
    Appended,
    Away,
    ChainHead,
    DayEntry,
    DayHistory,
    DayId,
    DaySummary,
    Device,
    DeviceRole,
    FoundDays,
    HistoryItem,
    ItemState,
    Kept,
    KeptSeal,
    Listed,
    Photo,
    PutAway,
    Shelf,
    Snapshot,
    StoredEntry,
    StoredText,
    SweepRecord,
)
from steelyard.store.roles import YardRole, roles_script
from steelyard.store.store import Store, open_store, read_store

__all__ = [
    "LARGEST_PHOTO",
    "LARGEST_SWEEP",
    "Appended",
    "Away",
    "ChainHead",
    "Copied",
    "CopiedTable",
    "DayEntry",
    "DayHistory",
    "DayId",
    "DaySummary",
    "Device",
    "DeviceRole",
    "FoundDays",
    "Hearer",
    "HistoryItem",
    "ItemState",
    "Kept",
    "KeptSeal",
    "Listed",
    "News",
    "Photo",
    "PutAway",
    "Reason",
    "Shelf",
    "Snapshot",
    "Store",
    "StoreError",
    "StoredEntry",
    "StoredText",
    "SweepRecord",
    "YardRole",
    "check_photo",
    "copy_store",
    "open_store",
    "read_store",
    "roles_script",
]
