// Draws the charts, all at once: drawing them when scrolled to was seen to draw nothing in print.
(() => {
  "use strict";
  const root = document.documentElement;
  root.classList.add("script");
  const words = JSON.parse(document.getElementById("words").textContent);

  // Boxes wider than the page take the focus, so that arrow keys move them, and are regions then,
  // as what takes the focus must be something; others don't.
  const focusWhatScrolls = () => {
    for (const box of document.querySelectorAll(".scroll, .drawing, pre")) {
      const scrolls = box.scrollWidth > box.clientWidth;
      if (scrolls) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
      if (box.matches(".scroll")) box.setAttribute("role", scrolls ? "region" : "group");
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

  // What is shown of the charts: a grip, a hand ("" for all), block weeks (of how many).
  const chosen = { grip: "", hand: "", from: 1, to: 0, weeks: 0, start: 0 };
  const charts = new Map(); // figure -> { spec, rows, series, view }
  const DAY = 86_400_000;
  const iso = (time) => new Date(time).toISOString().slice(0, 10);
  const isTime = (scale) => scale?.type === "utc" && Array.isArray(scale.domain);

  // Each part of a chart that has marks, with the rows it draws.
  const parts = (spec, rows, inherited) => {
    const own = spec.data?.name ? rows[spec.data.name] : inherited;
    const inner = spec.layer ?? spec.vconcat ?? spec.hconcat;
    return inner ? inner.flatMap((part) => parts(part, rows, own)) : [[spec, own]];
  };

  const readCharts = () => {
    const data = JSON.parse(document.getElementById("chart-data")?.textContent ?? "{}");
    for (const figure of document.querySelectorAll("figure.chart")) {
      const { spec, datasets, own, series } = JSON.parse(figure.querySelector("script").textContent);
      const rows = { ...Object.fromEntries(datasets.map((name) => [name, data[name]])), ...own };
      charts.set(figure, { spec, rows, series });
      const time = parts(spec, rows).map(([part]) => part.encoding?.x?.scale).find(isTime);
      if (time && !chosen.weeks) {
        const [start, end] = time.domain.map(Date.parse);
        chosen.start = start;
        chosen.weeks = chosen.to = Math.round((end - start) / DAY / 7 + 1 / 7);
      }
    }
  };

  const fits = ([grip, hand]) => [grip, ""].includes(chosen.grip) && [hand, ""].includes(chosen.hand);

  // A chart's specification, narrowed to what is chosen.
  const narrowed = ({ spec, rows, series }) => {
    // Drawing puts ids on its rows, so charts that share a data set get a copy each.
    const copy = structuredClone({ ...spec, datasets: rows });
    const names = (series ?? []).filter(fits).map((one) => one.at(-1));
    const { from, to, weeks, start } = chosen;
    const days = [start + (from - 1) * 7 * DAY, start + (to * 7 - 1) * DAY];
    for (const [part, own] of parts(copy, copy.datasets)) {
      const first = own?.[0] ?? {};
      const filters = [];
      const x = part.encoding?.x;
      if (to - from + 1 < weeks && isTime(x?.scale) && Date.parse(x.scale.domain[0]) === start) {
        x.scale.domain = days.map(iso);
        if (x.axis?.values) {
          x.axis.values = x.axis.values.filter((day) => days[0] <= Date.parse(day) && Date.parse(day) <= days[1]);
        }
        part.mark = { ...(part.mark.type ? part.mark : { type: part.mark }), clip: true };
      } else if (x?.field === "week" && Array.isArray(x.scale?.domain)) {
        x.scale.domain = x.scale.domain.filter((week) => from <= week && week <= to);
        filters.push({ filter: { field: "week", range: [from, to] } });
      }
      if (series && "series" in first) {
        filters.push({ filter: { field: "series", oneOf: names } });
        for (const { field, scale } of [part.encoding.color ?? {}, part.encoding.strokeDash ?? {}]) {
          if (field !== "series" || !Array.isArray(scale?.domain)) continue;
          scale.range = scale.range.filter((_, at) => names.includes(scale.domain[at]));
          scale.domain = scale.domain.filter((name) => names.includes(name));
        }
      }
      if (filters.length) part.transform = [...filters, ...(part.transform ?? [])];
    }
    return copy;
  };

  // Parts set beside or above each other have widths of their own: as wide as there is room for.
  const fitted = (spec, room) => {
    if (spec.hconcat && room < 560) {
      spec.vconcat = spec.hconcat;
      delete spec.hconcat;
    }
    if (room < 560 && spec.config?.legend?.columns) spec.config.legend.columns = 1;
    for (const part of spec.vconcat ?? []) {
      if (part.width > room - 80) part.width = Math.max(room - 80, 200); // an axis needs the rest
      fitted(part, room);
    }
    return spec;
  };

  let embed;
  const drawOne = async (figure) => {
    const chart = charts.get(figure);
    figure.hidden = Boolean(chart.series) && !chart.series.some(fits);
    if (figure.hidden) return;
    // Drawn aside: what is there stays until the drawing is, or for good.
    const before = figure.querySelector(".drawing");
    const drawing = before.cloneNode(false);
    drawing.classList.add("aside");
    before.after(drawing);
    const { view } = await embed(drawing, fitted(narrowed(chart), drawing.clientWidth), {
      mode: "vega-lite",
      renderer: "svg",
      actions: false,
      ast: true, // an interpreter in place of `eval`, which the policy forbids
      defaultStyle: false,
      config: { background: "transparent" },
      tooltip: { disableDefaultStyle: true },
      // weeks or a hand without a mark leave a scale without ends, which is no fault
      ...(chart.view ? { logLevel: 1 } : {}),
    }).catch((error) => {
      drawing.remove();
      throw error;
    });
    for (const brush of drawing.querySelectorAll("[class*='_brush']")) {
      brush.setAttribute("aria-hidden", "true");
    }
    chart.view?.finalize();
    chart.view = view;
    before.remove();
    drawing.classList.remove("aside");
    figure.classList.add("drawn");
    stepThrough(figure, drawing, view);
  };

  // Values one by one, for the keyboard and for whoever listens: a button, seen when it is reached.
  const stepThrough = (figure, drawing, view) => {
    figure.querySelector(".values")?.remove();
    const items = [];
    const visit = (item) => {
      for (const inner of item.items ?? []) visit(inner);
      if (!item.tooltip || typeof item.tooltip !== "object" || !item._svg) return;
      // marks outside the weeks chosen are there, but not seen
      if (item.mark.clip && (item.x < 0 || item.x > item.mark.group.width)) return;
      items.push(item);
    };
    visit(view.scenegraph().root);
    if (!items.length) return;
    items.sort((a, b) => a.x - b.x || a.y - b.y);
    const box = document.createElement("p");
    const button = document.createElement("button");
    const told = document.createElement("output");
    box.className = "values";
    button.type = "button";
    button.textContent = words.values;
    box.append(button, " ", told);
    drawing.after(box);
    let at = -1;
    const point = (to) => {
      items[at]?._svg?.classList.remove("pointed");
      at = to;
      items[at]?._svg?.classList.add("pointed");
      told.textContent = Object.entries(items[at]?.tooltip ?? {})
        .filter(([, value]) => value !== "null") // what is not known
        .map(([name, value]) => `${name}: ${value}`)
        .join(", ");
    };
    const steps = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
    button.addEventListener("keydown", (event) => {
      if (event.key === "Escape") point(-1);
      else if (steps[event.key]) point(Math.min(Math.max(at + steps[event.key], 0), items.length - 1));
      else return;
      event.preventDefault();
    });
    button.addEventListener("click", () => point((at + 1) % items.length));
    button.addEventListener("blur", () => point(-1));
  };

  const draw = async (figures) => {
    const ended = await Promise.allSettled(figures.map(drawOne));
    const failed = ended.find((one) => one.status === "rejected");
    if (failed) throw failed.reason;
  };

  // A choice made while charts are drawn waits for them, and of several the last alone is drawn:
  // two drawings of a figure at once would both stay.
  let drawing;
  let stale = false;
  const drawAgain = () => {
    stale = true;
    const untilDone = async () => {
      try {
        while (stale) {
          stale = false;
          await draw([...charts.keys()]);
        }
      } finally {
        drawing = undefined;
      }
    };
    return (drawing ??= untilDone());
  };

  // Rows that tell of one series follow too; a table left without any is gone with what folds it.
  const hideRows = () => {
    const tables = new Set();
    for (const { dataset, parentElement } of document.querySelectorAll("[data-grip]")) {
      const row = parentElement.closest("tr");
      row.hidden = !fits([dataset.grip, dataset.hand]);
      tables.add(row.closest("table"));
    }
    for (const table of tables) {
      const box = table.closest("details") ?? table.parentElement;
      box.hidden = [...table.tBodies[0].rows].every((row) => row.hidden);
    }
  };

  // One choice of grip, hand and weeks for all charts, above the first that follows it.
  const offerChoice = () => {
    const following = [...charts.keys()].filter((figure) => charts.get(figure).series);
    if (!following.length) return;
    const form = document.createElement("form");
    form.className = "choice";
    const told = document.createElement("output");
    const reset = document.createElement("button");
    reset.type = "button";
    reset.textContent = words.reset;
    reset.hidden = true;
    const all = [...charts.keys()];
    const follow = async () => {
      for (const { name } of form.querySelectorAll("select")) form[name].value = chosen[name];
      const { grip, hand, from, to, weeks } = chosen;
      const narrowed = Boolean(grip || hand || from > 1 || to < weeks);
      form.classList.toggle("narrowed", narrowed);
      reset.hidden = !narrowed;
      hideRows();
      await drawAgain();
      const shown = all.filter((figure) => !figure.hidden).length;
      told.textContent = words.shown.replace("%1", shown).replace("%2", all.length);
    };
    reset.addEventListener("click", () => {
      Object.assign(chosen, { grip: "", hand: "", from: 1, to: chosen.weeks });
      form.querySelector("select").focus(); // the button goes
      follow();
    });
    const offer = (key, label, options, whenChosen) => {
      const field = document.createElement("label");
      const select = document.createElement("select");
      select.name = key;
      select.append(...options.map(([value, text]) => new Option(text, value)));
      select.value = chosen[key];
      field.append(`${label} `, select);
      form.append(field);
      select.addEventListener("change", () => {
        chosen[key] = typeof chosen[key] === "number" ? Number(select.value) : select.value;
        whenChosen?.();
        follow();
      });
    };
    const known = following.flatMap((figure) => charts.get(figure).series);
    const distinct = (value, text) => [...new Map(known.map((one) => [one[value], one[text]]))];
    const grips = distinct(0, 2);
    const hands = distinct(1, 3);
    if (grips.length > 1) offer("grip", words.grip, [["", words.all], ...grips]);
    if (hands.length > 1) offer("hand", words.hand, [["", words.all], ...hands]);
    const weeks = Array.from({ length: chosen.weeks }, (_, i) => [i + 1, i + 1]);
    offer("from", words.from, weeks, () => { chosen.to = Math.max(chosen.to, chosen.from); });
    offer("to", words.to, weeks, () => { chosen.from = Math.min(chosen.from, chosen.to); });
    form.append(reset, told);
    form.addEventListener("submit", (event) => event.preventDefault());
    following[0].before(form);
  };

  const drawAll = async () => {
    readCharts();
    if (!charts.size) return;
    // words are measured when a chart is drawn, so their typeface must be there
    await Promise.allSettled([...document.fonts].map((face) => face.load()));
    embed = await unpackLibrary();
    await draw([...charts.keys()]);
    offerChoice();
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
    table.tHead.rows[0].dataset.words = words.sortBy;
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
        button.dataset.words = words[direction];
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
  drawAll().then(
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
