// Draws the charts, all at once: drawing them when scrolled to was seen to draw nothing in print.
(() => {
  "use strict";
  const root = document.documentElement;
  root.classList.add("script");

  // Boxes wider than the page take the focus, so that arrow keys move them, and are regions then,
  // as what takes the focus must be something; others don't.
  const focusWhatScrolls = () => {
    for (const box of document.querySelectorAll(".scroll, .drawing, pre")) {
      const scrolls = box.scrollWidth > box.clientWidth;
      if (scrolls) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
      if (box.hasAttribute("aria-label")) box.setAttribute("role", scrolls ? "region" : "group");
    }
  };

  const unpackLibrary = async () => {
    const packed = document.getElementById("chart-library").textContent;
    const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(stream).text();
    document.head.append(script); // runs at once: the page's policy names it by its hash
    return window.vegaEmbed;
  };

  const draw = async () => {
    const figures = [...document.querySelectorAll("figure.chart")];
    if (!figures.length) return;
    const data = JSON.parse(document.getElementById("chart-data").textContent);
    const embed = await unpackLibrary();
    await Promise.all(figures.map(async (figure) => {
      const { spec, datasets, own } = JSON.parse(figure.querySelector("script").textContent);
      // Drawing puts ids on its rows, so charts that share a data set get a copy each.
      const shared = datasets.map((name) => [name, structuredClone(data[name])]);
      spec.datasets = { ...Object.fromEntries(shared), ...own };
      // Drawn aside: the still picture stays until the drawing is there, or for good.
      const still = figure.querySelector(".drawing");
      const drawing = still.cloneNode(false);
      drawing.classList.add("aside");
      still.after(drawing);
      await embed(drawing, spec, {
        mode: "vega-lite",
        renderer: "svg",
        actions: false,
        ast: true, // an interpreter in place of `eval`, which the policy forbids
        defaultStyle: false,
        config: { background: "transparent" },
        tooltip: { disableDefaultStyle: true },
      }).catch((error) => {
        drawing.remove();
        throw error;
      });
      for (const brush of figure.querySelectorAll("[class*='_brush']")) {
        brush.setAttribute("aria-hidden", "true");
      }
      still.remove();
      drawing.classList.remove("aside");
      figure.classList.add("drawn");
    }));
  };

  // Headers of a sortable table become buttons. Without script its rows stay in the order given.
  const sortBy = (table, column, direction) => {
    const body = table.tBodies[0];
    const keyOf = (row) => row.cells[column].dataset.sort;
    const rows = [...body.rows];
    const figures = rows.every((row) => keyOf(row) === "" || Number.isFinite(Number(keyOf(row))));
    const sign = direction === "ascending" ? 1 : -1;
    const compare = (a, b) => {
      if (a === "" || b === "") return (a === "") - (b === ""); // not recorded: last, either way
      return sign * (figures ? a - b : a.localeCompare(b));
    };
    rows.sort((a, b) => compare(keyOf(a), keyOf(b)));
    body.append(...rows);
  };
  for (const table of document.querySelectorAll("table.sortable")) {
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      if (!head.dataset.first) return;
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const now = head.getAttribute("aria-sort");
        const turned = now === "ascending" ? "descending" : "ascending";
        const direction = now ? turned : head.dataset.first;
        for (const other of heads) other.removeAttribute("aria-sort");
        head.setAttribute("aria-sort", direction);
        sortBy(table, column, direction);
      });
    });
  }

  // Paper shows what is folded on a screen; afterwards it is as it was.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details:not([open])")];
    for (const part of opened) part.open = true;
  });
  addEventListener("afterprint", () => {
    for (const part of opened) part.open = false;
    opened = [];
  });

  focusWhatScrolls();
  addEventListener("resize", focusWhatScrolls);
  document.addEventListener("toggle", focusWhatScrolls, true);
  draw().then(
    () => {
      focusWhatScrolls();
      root.dataset.charts = "drawn";
    },
    (error) => {
      root.classList.remove("script"); // shows what stands there for a page without script
      const note = document.querySelector("noscript");
      if (note) note.outerHTML = note.textContent;
      root.dataset.charts = "failed";
      console.error(error);
    },
  );
})();
