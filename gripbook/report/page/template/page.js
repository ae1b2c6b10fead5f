// What a figure's marks say, under the pointer and by arrow keys. Without script the tables say it all.
(() => {
  "use strict";
  const ask = document.querySelector("main").dataset.values;
  for (const figure of document.querySelectorAll("figure[data-words]")) {
    const words = figure.dataset.words.split("\n");
    const spots = { wide: [], narrow: [] };
    for (const kind in spots) spots[kind] = figure.dataset[kind].split(" ").map((at) => at.split(",").map(Number));
    const make = (name, css) => Object.assign(document.createElement(name), { className: css });
    const [tip, ring, line, button, told] = [make("div", "tip"), make("div", "spot"), make("p", "values"), make("button", ""), make("output", "")];
    tip.setAttribute("aria-hidden", "true");
    ring.hidden = true;
    button.type = "button";
    button.setAttribute("aria-label", ask);
    button.dataset.words = ask;
    line.append(button, " ", told);
    figure.append(tip, ring, line);
    let at = -1;
    const shown = () => [...figure.querySelectorAll(":scope > svg")].find((svg) => svg.getClientRects().length);
    const point = (to, spoken) => {
      at = to;
      ring.hidden = at < 0;
      tip.textContent = words[at] ?? "";
      told.textContent = spoken ? tip.textContent : "";
      if (at < 0) return;
      const svg = shown();
      const [box, inside] = [svg.getBoundingClientRect(), figure.getBoundingClientRect()];
      const [x, y] = spots[svg.classList.contains("wide") ? "wide" : "narrow"][at];
      const unit = box.width / svg.viewBox.baseVal.width;
      const [left, top] = [box.left - inside.left + x * unit, box.top - inside.top + y * unit];
      const half = tip.offsetWidth / 2;
      tip.style.left = `${Math.max(half, Math.min(left, inside.width - half))}px`;
      tip.style.top = ring.style.top = `${top}px`;
      ring.style.left = `${left}px`;
    };
    const nearest = (event) => {
      const svg = shown();
      const box = svg.getBoundingClientRect();
      const unit = box.width / svg.viewBox.baseVal.width;
      const places = spots[svg.classList.contains("wide") ? "wide" : "narrow"];
      const far = places.map(([x, y]) => Math.hypot(box.left + x * unit - event.clientX, box.top + y * unit - event.clientY));
      const best = far.indexOf(Math.min(...far));
      point(far[best] <= 28 ? best : -1, false);
    };
    figure.addEventListener("pointermove", nearest);
    // a finger that is lifted leaves too, but what it asked for stays until it taps elsewhere
    figure.addEventListener("pointerleave", (event) => event.pointerType !== "touch" && point(-1, false));
    addEventListener("pointerdown", (event) => (figure.contains(event.target) ? nearest(event) : point(-1, false)));
    const steps = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
    button.addEventListener("keydown", (event) => {
      if (event.key === "Escape") point(-1, true);
      else if (steps[event.key]) point(Math.min(Math.max(at + steps[event.key], 0), words.length - 1), true);
      else return;
      event.preventDefault();
    });
    button.addEventListener("click", () => point((at + 1) % words.length, true));
    button.addEventListener("blur", () => point(-1, false));
  }
  // Boxes wider than the page take the focus, so that arrow keys move them.
  const focus = () => {
    for (const box of document.querySelectorAll(".scroll, pre")) {
      if (box.scrollWidth > box.clientWidth) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
    }
  };
  focus();
  addEventListener("resize", focus);
  document.addEventListener("toggle", focus, true);
  document.documentElement.dataset.charts = "drawn";
})();
