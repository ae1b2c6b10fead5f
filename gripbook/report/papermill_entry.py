"""
What papermill's entry point names: it loads this while it is imported itself.

So nothing of papermill may be imported here before the engine is used; `shell_engine`, whose engine
is a subclass of papermill's, could then not be imported first.
"""

from __future__ import annotations

from typing import Any


class _Deferred(type):
    def __getattr__(cls, name: str) -> Any:
        from gripbook.report.run.shell_engine import ShellEngine

        return getattr(ShellEngine, name)


class ShellEngineEntry(metaclass=_Deferred):
    """Stands for `ShellEngine`: whatever is asked of it is asked of that, from then on imported."""
