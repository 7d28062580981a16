"""The record of a day: all that was kept of it, with its digests."""
