"""Seals: a signed record of a day's headline figures and digests, which a stranger can check without a network.

Owns the record, its signature, its carriers, the weigher's keys and the check. Knows no drawing and no page of the
station; each file is a door of its own. Begin at ``record.py``. Read ``report`` next.
"""
