// Draws the charts of a user's notebook with the chart library that this page carries for them.
(async () => {
  "use strict";
  const root = document.documentElement;
  root.dataset.charts = "drawing";
  const unpackLibrary = async () => {
    const packed = document.getElementById("chart-library").textContent;
    const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(stream).text();
    document.head.append(script); // runs at once: the page's policy names it by its hash
    return window.vegaEmbed;
  };
  // Parts set beside or above each other have widths of their own: as wide as there is room for.
  const fitted = (spec, room) => {
    if (spec.hconcat && room < 560) {
      spec.vconcat = spec.hconcat;
      delete spec.hconcat;
    }
    if (room < 560 && spec.config?.legend?.columns) spec.config.legend.columns = 1;
    const columns = spec.params?.find((one) => one.name === "key_columns");
    if (room < 560 && columns?.value > 1) {
      const key = spec.vconcat.find((part) => part.name === "key");
      key.height *= columns.value;
      columns.value = 1;
    }
    for (const part of spec.vconcat ?? []) {
      if (part.width > room - 80) part.width = Math.max(room - 80, 200); // an axis needs the rest
      fitted(part, room);
    }
    return spec;
  };
  const draw = async (embed, figure) => {
    const box = figure.querySelector(".drawing");
    const spec = JSON.parse(figure.querySelector("script").textContent);
    await embed(box, fitted(spec, box.clientWidth), {
      mode: "vega-lite",
      renderer: "svg",
      actions: false,
      ast: true, // an interpreter in place of `eval`, which the policy forbids
      defaultStyle: false,
      config: { background: "transparent" },
      tooltip: { disableDefaultStyle: true },
    });
    figure.classList.add("drawn");
    for (const brush of box.querySelectorAll("[class*='_brush']")) brush.setAttribute("aria-hidden", "true");
    if (box.scrollWidth > box.clientWidth) box.tabIndex = 0;
  };
  try {
    // words are measured when a chart is drawn, so their typeface must be there
    await Promise.allSettled([...document.fonts].map((face) => face.load()));
    const embed = await unpackLibrary();
    await Promise.all([...document.querySelectorAll("figure.chart")].map((figure) => draw(embed, figure)));
    root.dataset.charts = "drawn";
  } catch (error) {
    root.dataset.charts = "failed";
    console.error(error);
  }
})();
