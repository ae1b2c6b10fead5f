"""Accessibility of every demo page, by axe-core (Deque, MPL 2.0), all its rules, no exceptions."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from gripbook.logs import load_logs
from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "data_demo"
PAGES = [*load_logs(DEMO).athlete_ids, "index"]
#: Rules that axe leaves off by default are on as well, but for the one that says of all that is
#: hidden that it can't tell, and never finds anything. Contrast, which costs most of the time, is
#: asked of one text for each colour, size, weight and ground; axe can't decide on text in pictures.
RUN = """async () => {
  const looks = new Map();
  for (const e of document.querySelectorAll("body *:not(svg *)")) {
    const says = [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    if (!says || !e.checkVisibility()) continue;
    const own = getComputedStyle(e), look = [own.color, own.fontSize, own.fontWeight];
    for (let under = e; under; under = under.parentElement) {
      const style = getComputedStyle(under);
      look.push(style.backgroundColor, style.backgroundImage, style.opacity);
    }
    const key = look.filter((v) => !["rgba(0, 0, 0, 0)", "none", "1"].includes(v)).join();
    if (!looks.has(key)) looks.set(key, e);
  }
  const all = axe.getRules().map((r) => r.ruleId).filter((rule) => rule !== "hidden-content");
  const contrast = all.filter((rule) => rule.startsWith("color-contrast"));
  const others = Object.fromEntries(all.map((r) => [r, { enabled: !contrast.includes(r) }]));
  const resultTypes = ["violations", "incomplete"];
  const found = [
    await axe.run(document, { rules: others, resultTypes }),
    await axe.run({ include: [...looks.values()] }, { runOnly: contrast, resultTypes }),
  ];
  const told = (v) => ({
    rule: v.id, help: v.help, n: v.nodes.length,
    at: v.nodes.slice(0, 3).map((n) => n.html + " " + n.failureSummary),
  });
  const of = (kind) => found.flatMap((one) => one[kind].map(told));
  return [of("violations"), of("incomplete"), looks.size];
}"""


@cache
def axe() -> str:
    """The library as a script."""
    return (resources.files("axe_playwright_python") / "axe.min.js").read_text("utf-8")


def violations(page: Any) -> list[dict[str, Any]]:
    """What axe-core finds on the page as it is; prints what it cannot decide."""
    page.evaluate(axe())
    found, undecided, looks = page.evaluate(RUN)
    assert looks > 5
    for one in undecided:
        print(f"undecided: {one['rule']} at {one['n']} places, such as {one['at'][0]}")
    return list(found)


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize(("width", "scheme"), [(1100, "light"), (390, "dark")])
def test_axe_finds_nothing(
    pages: Path, open_page: Open, name: str, width: int, scheme: str
) -> None:
    """Nothing at any level: wide as it comes, narrow and dark with all folds open."""
    with open_page(pages / f"{name}.html", width=width) as page:
        page.emulate_media(color_scheme=scheme)
        if scheme == "dark":
            page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        assert violations(page) == []


def test_axe_would_find_something(pages: Path, open_page: Open) -> None:
    """A picture without words and pale words, put on the page, are found: the check can fail."""
    with open_page(pages / "index.html") as page:
        picture = "const i = document.createElement('img'); i.src = 'data:,';"
        pale = (
            "const p = document.createElement('p'); p.textContent = 'pale'; p.style.color = '#ccc';"
        )
        page.evaluate(picture + pale + "document.querySelector('main').append(i, p)")
        assert [v["rule"] for v in violations(page)] == ["image-alt", "color-contrast"]
