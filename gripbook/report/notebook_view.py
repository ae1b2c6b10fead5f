"""What the notebooks call: open a review, show its parts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path
from tempfile import gettempdir
from typing import Any, cast

from gripbook import words
from gripbook.errors import GripbookError
from gripbook.logs import DateOrder, Logs, load_logs
from gripbook.report import lab, render
from gripbook.reviews import BlockReview, SquadReview, review, review_squad, squad_noise


@dataclass(frozen=True, slots=True)
class Ready:
    """A review that is at hand for a notebook run with these `parameters`."""

    parameters: Mapping[str, Any]
    review: BlockReview | SquadReview | None


_ready: ContextVar[Ready | None] = ContextVar("ready", default=None)


@contextmanager
def given(ready: Ready | None) -> Iterator[None]:
    """
    Within it, `open_review` and `open_squad` give the review at hand where it is the one asked for.

    So a batch reads the logs once, not once a page.
    """
    before = _ready.set(ready)
    try:
        yield
    finally:
        _ready.reset(before)


def _at_hand(**asked: str | bool) -> BlockReview | SquadReview | None:
    """The review at hand, if it's the one asked for; also makes charts show in notebooks."""
    ready = _ready.get()
    draw_here(for_page=ready is not None)
    return ready.review if ready and ready.parameters == asked else None


def demo_folder() -> Path:
    """
    The log folder of the invented demo squad.

    In a checkout it is `data_demo`; an installed package writes it anew into the temporary folder.
    """
    checkout = Path(__file__).resolve().parents[2] / "data_demo"
    if (checkout / "hangs.csv").is_file():
        return checkout
    from gripbook import __version__
    from gripbook.simulate import write_demo

    folder = Path(gettempdir()) / f"gripbook-demo-{__version__}"
    if not (folder / "hangs.csv").is_file():
        write_demo(folder)
    return folder


def open_review(
    logs: str = "",
    athlete: str = "",
    block: str = "",
    dates: str = "",
    share_noise: bool = False,
    lang: str = "en",
) -> BlockReview:
    """
    Read a log folder and review one athlete's block, ready to show.

    Parameters
    ----------
    logs : the folder; empty: the demo squad.
    athlete, block : empty: the first one.
    dates : "", "day-first" or "month-first".
    share_noise : see `squad_noise`.
    lang : language of all that follows, see `use_language`.
    """
    _speak(lang)
    ready = _at_hand(
        logs=logs, athlete=athlete, block=block, dates=dates, share_noise=share_noise, lang=lang
    )
    if isinstance(ready, BlockReview):
        return ready
    found = _open(logs, dates)
    return review(found, athlete, block, squad_noise(found, block) if share_noise else None)


def open_squad(
    logs: str = "", block: str = "", dates: str = "", share_noise: bool = False, lang: str = "en"
) -> SquadReview:
    """Read a log folder and review the whole squad, ready to show; as `open_review`."""
    _speak(lang)
    ready = _at_hand(logs=logs, block=block, dates=dates, share_noise=share_noise, lang=lang)
    if isinstance(ready, SquadReview):
        return ready
    found = _open(logs, dates)
    return review_squad(found, block, squad_noise(found, block) if share_noise else None)


def _speak(lang: str) -> None:
    """Use a language, but leave a process as it is that renders a page in it anyway."""
    if words.language() != lang:
        words.use_language(lang)


def draw_here(*, for_page: bool = False) -> None:
    """
    Make this notebook draw charts and tell the package's errors by their words alone.

    Parameters
    ----------
    for_page : the notebook itself is looked at by nobody, so that its outputs need no style.
    """
    (render if for_page else lab).enable()
    lab.tell_errors_kindly()


def check_dates(dates: str) -> None:
    """Raise GripbookError where `dates` is no order of dates."""
    if dates not in ("", "day-first", "month-first"):
        raise GripbookError(
            f"dates = {dates!r} is none of day-first, month-first. Leave it empty for dates "
            "written year-month-day."
        )


def _open(logs: str, dates: str) -> Logs:
    check_dates(dates)
    return load_logs(logs or demo_folder(), dates=cast("DateOrder | None", dates or None))


def show(*parts: Any) -> None:
    """Display charts and fragments one below the other; tuples of them too; None is passed over."""
    from IPython.display import display

    for part in flat(parts):
        display(part)


def flat(parts: Iterable[Any]) -> Iterable[Any]:
    """What is to be shown, one after the other, out of tuples and lists; None is left out."""
    for part in parts:
        if isinstance(part, tuple | list):
            yield from flat(part)
        elif part is not None:
            yield part
