"""
Files of the server of `gripbook explore`: the notebook that is still being made is waited for.

So the browser loads JupyterLab, which takes seconds, while the notebook's charts are made.
"""

from __future__ import annotations

import asyncio
import os
import time
from pathlib import Path
from typing import Any

from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager

#: Names a file that is there as long as the notebook is being made, and holds its name.
MAKING = "GRIPBOOK_MAKING"
#: Seconds after which a notebook is given as it stands.
PATIENCE_S = 120.0


class WaitingContents(AsyncLargeFileManager):
    """The server's files, of which one may not be ready yet."""

    async def get(self, path: str, *more: Any, **named: Any) -> Any:
        """Give a file; the notebook that is being made as soon as it is there."""
        making, give_up = os.environ.get(MAKING, ""), time.monotonic() + PATIENCE_S
        while making and time.monotonic() < give_up:
            try:
                name = Path(making).read_text(encoding="utf-8")
            except OSError:  # it is made
                break
            if path.strip("/") != name:
                break
            await asyncio.sleep(0.05)
        return await super().get(path, *more, **named)  # type: ignore[no-untyped-call]
