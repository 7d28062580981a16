"""``ledger``: everything aboard, item by item, up to the gross, and the rest."""

from steelyard.questions.ledger.accounts import Account, ItemKind, Ledger, LedgerItem, Source, ledger
from steelyard.questions.ledger.question import LEDGER

__all__ = ["LEDGER", "Account", "ItemKind", "Ledger", "LedgerItem", "Source", "ledger"]
