"""Pages made on other machines: an executor from a dask scheduler. No cluster code of our own."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import Any

from gripbook.errors import GripbookError


@contextmanager
def executor_at(address: str, *, wait_s: float = 10) -> Iterator[tuple[Executor, int]]:
    """
    Connect to a scheduler, for example tcp://10.0.0.1:8786.

    Yields
    ------
    An executor for `render_reports`, and how many pages its workers can make at a time (1 at
    least: workers may join later).

    Raises
    ------
    GripbookError : dask.distributed isn't installed, or nobody answers at the address.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise GripbookError(
            "A scheduler needs dask.distributed: pip install 'gripbook[cluster]'."
        ) from error
    try:
        connect: Any = Client
        client = connect(address, timeout=wait_s, set_as_default=False)
    except (OSError, ValueError) as error:
        raise GripbookError(f"No scheduler answers at {address}: {error}") from error
    with client:
        # pure=False: else dask would take a page asked for again (--force) for one it has made
        yield client.get_executor(pure=False), max(1, sum(client.ncores().values()))
