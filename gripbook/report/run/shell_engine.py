"""
A papermill engine that runs the cells in this process, in an IPython shell without a kernel.

Outputs are recorded as a kernel's client would record them. The shell takes the process's
`__main__`, display hook, environment and working folder and gives them back at its end; what cells
change in other modules stays changed, so a batch runs each notebook in a process of its own.

What it does not do: widgets (comms), kernels of other languages. Those need the kernel engine.
"""

from __future__ import annotations

import atexit
import contextlib
import io
import os
import platform
import re
import sys
import tempfile
import types
import warnings
from collections.abc import Callable, Iterator, Mapping
from contextvars import ContextVar
from typing import Any, ClassVar

from IPython.core.compilerop import CachingCompiler
from IPython.core.displayhook import DisplayHook
from IPython.core.displaypub import DisplayPublisher
from IPython.core.interactiveshell import InteractiveShell
from nbformat import NotebookNode
from papermill.engines import Engine
from traitlets import Type
from traitlets.config import Config

_OVERWRITTEN = re.compile(r".*\r(?=[^\n])")  # a line and the carriage return that takes it back

#: Called before and after each cell with its position and the cell: a process that watches this
#: one keeps them, should this one die.
watcher: ContextVar[Callable[[int, NotebookNode], None] | None] = ContextVar(
    "watcher", default=None
)


_KERNEL_SEED = 0xC70F6907  # of a kernel's names for cells


class CellTookTooLongError(BaseException):
    """Raised within a cell whose time is over; no `except Exception` there holds it up."""


class CellFailedError(Exception):
    """A cell raised; its outputs hold the error as the notebook format writes it."""


def _output(kind: str, **contents: Any) -> NotebookNode:
    """An output of the notebook format; nbformat's own function checks each against its schema."""
    return NotebookNode(output_type=kind, **contents)


class Recorder:
    """What cells show, put into the cells as nbclient does with a kernel's messages."""

    def __init__(self) -> None:
        self.cell: NotebookNode | None = None
        self._clear_next = False
        self._shown: dict[str, list[NotebookNode]] = {}  # display id -> outputs under it

    def begin(self, cell: NotebookNode) -> None:
        """Let what follows go into this cell."""
        self.cell = cell
        self._clear_next = False

    def stream(self, name: str, text: str) -> None:
        """Add to the cell's stream of that name; a kernel's client merges them likewise."""
        if self.cell is None or not text:
            return
        self._clear_if_due()
        for output in self.cell.outputs:
            if output.output_type == "stream" and output.name == name:
                output.text += text
                return
        self.cell.outputs.append(_output("stream", name=name, text=text))

    def add(self, output: NotebookNode, display_id: str = "") -> None:
        """Append one output."""
        if self.cell is None:
            return
        self._clear_if_due()
        self.cell.outputs.append(output)
        if display_id:
            self._shown.setdefault(display_id, []).append(output)

    def update(self, display_id: str, data: Any, metadata: Any) -> None:
        """Replace the outputs shown under this id, in whatever cell they stand."""
        for output in self._shown.get(display_id, ()):
            output.data, output.metadata = data, metadata

    def clear(self, wait: bool) -> None:
        """Empty the cell, at once or before its next output."""
        if wait:
            self._clear_next = True
        elif self.cell is not None:
            self.cell.outputs.clear()

    def end(self) -> None:
        """Leave the cell, its streams in the order and form that a kernel's client gives them."""
        cell, self.cell = self.cell, None
        if cell is None:
            return
        for before, after in zip(cell.outputs[:-1], cell.outputs[1:], strict=True):
            if before.get("name") == "stderr" and after.get("name") == "stdout":
                at = cell.outputs.index(before)
                cell.outputs[at : at + 2] = [after, before]
        for output in cell.outputs:
            if output.output_type == "stream":
                output.text = _OVERWRITTEN.sub("", output.text)

    def _clear_if_due(self) -> None:
        if self._clear_next and self.cell is not None:
            self._clear_next = False
            self.cell.outputs.clear()


class _Stream(io.TextIOBase):
    """Standard output or error of the cells."""

    encoding = "utf-8"
    errors = "strict"

    def __init__(self, name: str, recorder: Recorder) -> None:
        self.name = name
        self._recorder = recorder

    def writable(self) -> bool:
        return True

    def write(self, text: str) -> int:
        self._recorder.stream(self.name, text)
        return len(text)


class _Descriptors:
    """
    Take what goes past Python to the process's standard output and error.

    It comes from C, and from programs the cells start. It's added when a cell ends, so after what
    the cell printed itself.
    """

    def __init__(self) -> None:
        self._files = {fd: tempfile.TemporaryFile() for fd in (1, 2)}  # noqa: SIM115
        self._before = {fd: os.dup(fd) for fd in self._files}
        for fd, file in self._files.items():
            os.dup2(file.fileno(), fd)

    def give_to(self, recorder: Recorder) -> None:
        """Add what has come since the last time."""
        for fd, file in self._files.items():
            if file.seek(0, os.SEEK_END):
                file.seek(0)
                recorder.stream(("stdout", "stderr")[fd - 1], file.read().decode(errors="replace"))
                file.seek(0)  # the place is shared with whoever writes
                file.truncate()

    def close(self) -> None:
        """Put the process's own back."""
        for fd, before in self._before.items():
            os.dup2(before, fd)
            os.close(before)
            self._files[fd].close()


class _Publisher(DisplayPublisher):  # type: ignore[misc]
    """`display(...)` ends here."""

    def publish(
        self,
        data: dict[str, Any],
        metadata: dict[str, Any] | None = None,
        *,
        transient: Mapping[str, Any] | None = None,
        update: bool = False,
        **_: Any,
    ) -> None:
        recorder: Recorder = self.shell.recorder
        display_id = str((transient or {}).get("display_id") or "")
        data, metadata = _plain(data), _plain(metadata or {})
        if update:
            recorder.update(display_id, data, metadata)
        else:
            recorder.add(_output("display_data", data=data, metadata=metadata), display_id)

    def clear_output(self, wait: bool = False) -> None:
        self.shell.recorder.clear(wait)


class _Hook(DisplayHook):  # type: ignore[misc]
    """The value of a cell's last line ends here."""

    def write_output_prompt(self) -> None:
        """No prompt: the output carries its number."""

    def write_format_data(
        self, format_dict: dict[str, Any], md_dict: dict[str, Any] | None = None
    ) -> None:
        self.shell.recorder.add(
            _output(
                "execute_result",
                data=_plain(format_dict),
                metadata=_plain(md_dict or {}),
                execution_count=self.prompt_count,
            )
        )

    def finish_displayhook(self) -> None:
        """Nothing to end: nothing was printed."""
        self._is_active = False


def _plain(value: Any) -> Any:
    """What the message to a notebook would have become: fresh containers, bytes as base64."""
    if type(value) in _AS_IT_IS:
        return value
    if isinstance(value, dict):
        return NotebookNode(
            {str(k): v if type(v) in _AS_IT_IS else _plain(v) for k, v in value.items()}
        )
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, str | int | float):
        return value
    from jupyter_client.jsonutil import json_default

    return json_default(value)


_AS_IT_IS = frozenset({str, int, float, bool, type(None)})


class _Compiler(CachingCompiler):  # type: ignore[misc]
    """Names cells in tracebacks and warnings as a kernel does, without its folder."""

    def get_code_name(self, raw_code: str, code: str, number: int) -> str:
        from ipykernel import compiler

        number_of: Any = compiler.murmur2_x86
        return os.path.join("notebook", f"{number_of(raw_code, _KERNEL_SEED)}.py")


class Shell(InteractiveShell):  # type: ignore[misc]
    """An IPython shell whose outputs go to a `Recorder`."""

    displayhook_class = Type(_Hook)
    display_pub_class = Type(_Publisher)
    compiler_class = Type(_Compiler)
    recorder: Recorder

    def __init__(self, recorder: Recorder, **options: Any) -> None:
        self.recorder = recorder
        super().__init__(**options)

    def _showtraceback(self, etype: Any, evalue: Any, stb: list[str]) -> None:
        self.recorder.add(_output("error", ename=etype.__name__, evalue=str(evalue), traceback=stb))

    def init_virtualenv(self) -> None:
        """Nothing: the notebook runs in this very Python."""

    def enable_gui(self, gui: str | None = None) -> None:
        """Nothing: a report has no windows."""


@contextlib.contextmanager
def _process_kept() -> Iterator[None]:
    """Give back afterwards what a shell and its cells take over in the process."""
    import builtins

    instances = [(cls, cls.__dict__.get("_instance")) for cls in Shell._walk_mro()]
    names = ("stdin", "stdout", "stderr", "displayhook", "excepthook", "argv", "path")
    kept = {name: getattr(sys, name) for name in names}
    path, argv, environment = list(sys.path), list(sys.argv), dict(os.environ)
    main, folder, before = sys.modules["__main__"], os.getcwd(), dict(vars(builtins))
    try:
        with warnings.catch_warnings():
            yield
    finally:
        for name, value in kept.items():
            setattr(sys, name, value)
        sys.path[:], sys.argv[:] = path, argv
        if dict(os.environ) != environment:
            os.environ.clear()
            os.environ.update(environment)
        sys.modules["__main__"] = main
        os.chdir(folder)
        for name in set(vars(builtins)) - set(before):
            delattr(builtins, name)
        vars(builtins).update(before)
        for cls, instance in instances:
            cls._instance = instance


@contextlib.contextmanager
def open_shell() -> Iterator[Shell]:
    """Within it the process is a shell's; afterwards it's what it was."""
    recorder = Recorder()
    config = Config({"HistoryManager": {"enabled": False}, "Completer": {"use_jedi": False}})
    with _process_kept(), tempfile.TemporaryDirectory(prefix="gripbook-ipython-") as ipython:
        for cls in Shell._walk_mro():
            cls._instance = None
        sys.stdin = io.StringIO()
        sys.stdout, sys.stderr = _Stream("stdout", recorder), _Stream("stderr", recorder)
        shell = Shell.instance(
            recorder=recorder,
            config=config,
            ipython_dir=ipython,
            user_module=types.ModuleType("__main__"),
        )
        descriptors = _Descriptors()
        shell.events.register("post_run_cell", lambda _: descriptors.give_to(recorder))
        try:
            yield shell
        finally:
            descriptors.close()
            atexit.unregister(shell.atexit_operations)
            shell.user_ns.clear()
            shell.restore_sys_module_state()


class ShellEngine(Engine):  # type: ignore[misc]
    """Run a notebook's cells in this process: `papermill.execute_notebook(engine_name=...)`."""

    #: What a kernel of this Python says of itself.
    LANGUAGE: ClassVar[dict[str, Any]] = {
        "codemirror_mode": {"name": "ipython", "version": sys.version_info[0]},
        "file_extension": ".py",
        "mimetype": "text/x-python",
        "name": "python",
        "nbconvert_exporter": "python",
        "pygments_lexer": f"ipython{sys.version_info[0]}",
        "version": platform.python_version(),
    }

    @classmethod
    def execute_managed_notebook(cls, nb_man: Any, kernel_name: str, **options: Any) -> None:
        """
        Run the cells in order, up to the first that fails.

        Of papermill's options `execution_timeout` (seconds a cell) is kept where there are signals
        and this is the main thread; those that concern kernels are passed over.
        """
        limit_s = options.get("execution_timeout")
        tell = watcher.get()
        with open_shell() as shell:
            for index, cell in enumerate(nb_man.nb.cells):
                nb_man.cell_start(cell, index)
                if tell:
                    tell(index, cell)
                try:
                    if cell.cell_type == "code" and cell.source.strip():
                        _run_cell(shell, cell, limit_s)
                except CellFailedError as error:
                    nb_man.cell_exception(cell, index, exception=error)
                    break
                finally:
                    nb_man.cell_complete(cell, index)
                    if tell:
                        tell(index, cell)
            nb_man.nb.metadata["language_info"] = NotebookNode(cls.LANGUAGE)

    @classmethod
    def nb_kernel_name(cls, nb: NotebookNode, name: str | None = None) -> str:
        """Any notebook in Python will do, whatever kernel it was saved with."""
        return name or "python3"

    @classmethod
    def nb_language(cls, nb: NotebookNode, language: str | None = None) -> str:
        """It's Python."""
        return language or "python"


def _run_cell(shell: Shell, cell: NotebookNode, limit_s: float | None) -> None:
    tags = cell.metadata.get("tags", [])
    if "skip-execution" in tags:
        return
    shell.recorder.begin(cell)
    cell.execution_count = shell.execution_count
    try:
        with _time_limit(limit_s):
            result = shell.run_cell(cell.source, store_history=True)
    finally:
        shell.recorder.end()
    # an object that can't be shown is an error too, though the code went through
    shown = all(output.output_type != "error" for output in cell.outputs)
    if not (result.success and shown) and "raises-exception" not in tags:
        raise CellFailedError


@contextlib.contextmanager
def _time_limit(limit_s: float | None) -> Iterator[None]:
    """Stop the cell when its time is over; nothing where there are no alarms."""
    import signal
    import threading

    main = threading.current_thread() is threading.main_thread()
    if not limit_s or not main or not hasattr(signal, "setitimer"):
        yield
        return

    def over(*_: Any) -> None:
        raise CellTookTooLongError(f"took longer than {limit_s:g} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.setitimer(signal.ITIMER_REAL, limit_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
