"""The ledger: everything aboard each vehicle of a state, and how it adds up to the gross."""

from steelyard.questions.ledger.accounts import Account, ItemKind, Ledger, LedgerItem, Source, ledger
from steelyard.questions.ledger.question import LEDGER

__all__ = ["LEDGER", "Account", "ItemKind", "Ledger", "LedgerItem", "Source", "ledger"]
