"""The ledger: everything aboard each vehicle of a state, and how it adds up to the gross."""

from steelyard.questions.ledger.accounts import Account, Item, Kind, Ledger, Source, ledger
from steelyard.questions.ledger.question import LEDGER

__all__ = ["LEDGER", "Account", "Item", "Kind", "Ledger", "Source", "ledger"]
