"""For the process that looks after workers: what they are forked from has loaded what they would each load."""

from __future__ import annotations


def dask_setup(nanny: object) -> None:
    """Called by Dask before the first worker is made."""
    del nanny
    from distributed.utils import get_mp_context

    method = get_mp_context()
    if method.get_start_method() == "forkserver":
        method.set_forkserver_preload(["distributed", "steelyard.batch.part", "tests.batch.deadly", "pyarrow.parquet"])
