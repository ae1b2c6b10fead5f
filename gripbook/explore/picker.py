"""
Lists over a notebook's charts: another athlete, block or series, with no code to edit.

A choice writes the arguments into the cell and runs it, so that the notebook always says what it
shows. That takes the JupyterLab of `gripbook explore`, which lets scripts reach it; in any other a
choice says what to write instead. Pages leave the lists out.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gripbook import html
from gripbook.logs import Logs
from gripbook.report.render import IS_STYLE, STYLED
from gripbook.reviews import BlockReview
from gripbook.words import fmt

#: Views that take all series where none is named.
_OF_ALL = ("best_days",)
#: Finds the notebook around the list, or says what to write by hand.
_START = """
const list = this, panel = window.jupyterapp && window.jupyterapp.shell.currentWidget;
const cells = panel && panel.content && panel.content.widgets || [];
const told = list.closest("p").querySelector("[hidden]");
const run = async (cell, source, command) => {
  if (!source) { told.hidden = false; return; }
  cell.model.sharedModel.setSource(source);
  panel.content.activeCellIndex = cells.indexOf(cell);
  panel.content.deselectAll();
  await window.jupyterapp.commands.execute(command);
};
"""
#: A parameter of the notebook is another: all cells are run.
_PARAMETER = (
    _START
    + r"""
const cell = cells.find((c) => (c.model.getMetadata("tags") || []).includes("parameters"));
const put = (source, name, value) => {
  const line = new RegExp("^(" + name + "(?:: str)?) *=.*?(  #.*)?$", "m");
  return line.test(source) && source.replace(
    line, (all, start, comment) => start + " = " + JSON.stringify(value) + (comment || ""));
};
let source = cell && put(cell.model.sharedModel.getSource(), list.dataset.name, list.value);
if (source && list.dataset.name === "athlete") source = put(source, "block", "") || source;
run(cell, source, "notebook:run-all-cells").then(() => {
  if (source) panel.content.activeCellIndex = 0;
});
"""
)
#: The arguments of the cell's own view are others: it is run.
_ARGUMENTS = (
    _START
    + r"""
const cell = cells.find((c) => c.node.contains(list));
const call = new RegExp("\\b" + list.dataset.view + "\\(\\s*\\w+");
let source = cell && cell.model.sharedModel.getSource();
source = source && call.test(source) && source
  .replace(/,\s*(capacity|grip|hand)\s*=\s*("(\\.|[^"\\])*"|'(\\.|[^'\\])*')/g, "")
  .replace(call, (all) => all + (list.value && ", ") + list.value);
run(cell, source, "notebook:run-cell");
"""
)


@dataclass(frozen=True, repr=False)
class Picker:
    """Lists in one line, shown in a notebook and left out of pages."""

    shown: html.Fragment
    words: str

    def _repr_mimebundle_(self, **_: Any) -> tuple[dict[str, str], dict[str, Any]]:
        return {"text/html": self.shown.html.join(STYLED), "text/plain": self.words}, {**IS_STYLE}

    def __repr__(self) -> str:
        return self.words


def arguments(series: tuple[str, str, str]) -> str:
    """A series as arguments of a view."""
    # a block file may name a grip anything: a cell must hold it as text, never as code
    return "capacity={}, grip={}, hand={}".format(*map(json.dumps, series))


def _line(lists: Sequence[html.Fragment], by_hand: str, words: str) -> Picker:
    parts: list[str | html.Fragment] = []
    for one in lists:
        parts += [one, "\u2003"]
    told = html.hidden(by_hand)
    return Picker(html.paragraph(html.over("", html.inline(*parts, words, told))), words)


def people(logs: Logs, r: BlockReview, words: str) -> Picker:
    """Lists of athletes and of the blocks of the one shown, before a line of words."""
    names = dict(zip(logs.athletes["athlete"], logs.athletes["name"], strict=True))
    athletes = [(one, str(names.get(one) or one)) for one in logs.athlete_ids]
    lists = []
    if len(athletes) > 1:
        lists.append(html.chooser("Athlete", athletes, r.athlete.id, _PARAMETER, name="athlete"))
    blocks = [b.name for b in r.earlier.blocks]
    if len(blocks) > 1 and r.block.name in blocks:
        options = [(name, name) for name in blocks]
        lists.append(html.chooser("Block", options, r.block.name, _PARAMETER, name="block"))
    by_hand = " Here, write it in the first cell, and choose Run > Run All Cells."
    return _line(lists, by_hand, words)


def series(
    view: str, known: Sequence[tuple[str, str, str]], chosen: tuple[str, str, str] | None
) -> Picker | None:
    """
    List of series for the cell of one view; None where there is nothing to choose.

    `chosen` None: the view takes all of them, and the list offers it, too.
    """
    if len(known) < 2:
        return None
    options = [
        (
            arguments(one),
            f"{fmt.sentence(fmt.EXERCISE_WORDS[one[0]])}, {fmt.series(one[1], one[2])}",
        )
        for one in known
    ]
    value = "" if chosen is None else options[known.index(chosen)][0]
    by_hand = f" Here, write it in the cell: gb.explore.{view}(x, {options[0][0]})"
    if view in _OF_ALL:
        options.insert(0, ("", "all series"))
    return _line([html.chooser("Series", options, value, _ARGUMENTS, view=view)], by_hand, "")
