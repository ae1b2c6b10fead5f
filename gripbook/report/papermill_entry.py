"""
What papermill's entry point names: it loads this while it is imported itself.

So nothing of papermill may be imported here before a notebook runs; `shell_engine`, whose engine
is a subclass of papermill's, could then not be imported first.
"""

from __future__ import annotations

from typing import Any


class ShellEngineEntry:
    """Stands for `ShellEngine` until it is asked to run a notebook."""

    @classmethod
    def execute_notebook(cls, nb: Any, kernel_name: str, **options: Any) -> Any:
        """As `papermill.engines.Engine.execute_notebook`."""
        from gripbook.report.shell_engine import ShellEngine

        return ShellEngine.execute_notebook(nb, kernel_name, **options)
