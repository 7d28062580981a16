"""Many machines: Dask gives parts of days to its workers, wherever they are, and they write into one folder.

Owns what is asked of a scheduler and its workers, what runs on them, and what becomes of a part whose worker died.
Nothing here is imported before a scheduler is named. Begin at ``dask_engine.py``. Read ``pool`` for one machine.
"""
