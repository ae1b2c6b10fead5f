// Draws the charts, all at once: drawing them when scrolled to was seen to draw nothing in print.
(() => {
  "use strict";
  const root = document.documentElement;
  root.classList.add("script");

  // Boxes wider than the page take the focus, so that arrow keys move them; others don't.
  const focusWhatScrolls = () => {
    for (const box of document.querySelectorAll(".scroll, .drawing, pre")) {
      if (box.scrollWidth > box.clientWidth) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
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
      await embed(figure.querySelector(".drawing"), spec, {
        mode: "vega-lite",
        renderer: "svg",
        actions: false,
        ast: true, // an interpreter in place of `eval`, which the policy forbids
        defaultStyle: false,
        config: { background: "transparent" },
        tooltip: { disableDefaultStyle: true },
      });
      for (const brush of figure.querySelectorAll("[class*='_brush']")) {
        brush.setAttribute("aria-hidden", "true");
      }
      figure.classList.add("drawn");
    }));
  };

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
      root.dataset.charts = "failed";
      console.error(error);
    },
  );
})();
