"use strict";
// Says where the cross-hair is: in the square, on the grid, and on the site (depth = −Z) where the page was
// given how the grid lies in it. Also keeps the scale bar true: its length changes with the zoom, its words
// when the view rests.
(() => {
  const LENGTHS_M = [0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5];

  function start(desk) {
    const { root, grid } = desk;
    const cells = Object.fromEntries([...root.querySelectorAll("[data-where]")].map((cell) => [cell.dataset.where, cell]));
    const metres = (value) => value.toFixed(3).replace("-0.000", "0.000").replace("-", "\u2212");

    function onSite({ x, y }) {
      const { origin, x: alongX, y: alongY } = grid.site;
      return origin.map((start, i) => start + x * alongX[i] + y * alongY[i]);
    }

    const list = root.querySelector(".desk-where");

    function tell(at) {
      list.toggleAttribute("data-nowhere", !at);
      const put = (name, words) => {
        if (cells[name]) cells[name].textContent = at ? words() : "–";
      };
      put("square", () => `${metres(at.x - grid.corner[0])} / ${metres(at.y - grid.corner[1])} m`);
      put("grid", () => `x ${metres(at.x)}, y ${metres(at.y)} m`);
      put("site", () => {
        const [e, n, z] = onSite(at);
        return window.shedWords("desk_site", { e: metres(e), n: metres(n), depth: metres(-z) });
      });
    }

    // The room that the longest of what may be said takes, so that the pictures stay where they are.
    function reserve() {
      const [x0, y0, x1, y1] = grid.box;
      const widths = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map(([x, y]) => {
        tell({ x, y });
        return Object.values(cells).map((cell) => Math.ceil(cell.getBoundingClientRect().width));
      });
      Object.values(cells).forEach((cell, i) => { cell.style.minWidth = `${Math.max(...widths.map((one) => one[i]))}px`; });
      tell(null);
    }

    let later = 0;
    root.addEventListener("desk:pointed", ({ detail: { at, by } }) => {
      tell(at);
      clearTimeout(later);
      if (by === "keys") later = setTimeout(() => desk.say(cells.square.textContent), 500);
    });

    // The scale bars: drawn in thousandths of the square's side, for zoom 1.
    const bars = [...root.querySelectorAll("[data-bar]")].map((bar) => ({
      line: bar.querySelector("path"),
      words: bar.querySelector("text"),
      strip: bar.closest("svg"),
      told: bar.closest("svg").getAttribute("aria-label"),
    }));
    const first = bars[0]?.words.textContent;
    let zoomThen = 1;

    root.addEventListener("desk:looked", () => {
      for (const { line, words } of bars) {
        const by = desk.view.zoom / zoomThen;
        line.style.transform = `scaleX(${by})`;
        words.style.transform = `translateX(${(by - 1) * words.x.baseVal[0].value}px)`;
      }
    });
    root.addEventListener("desk:settled", () => {
      if (desk.view.zoom === zoomThen || !bars.length) return;
      zoomThen = desk.view.zoom;
      const fitting = LENGTHS_M.filter((one) => one * zoomThen <= grid.side * 0.5);
      const length = fitting.at(-1) ?? LENGTHS_M[0];
      const across = (length * zoomThen * 1000) / grid.side;
      const [n, unit] = length >= 1 ? [length, "m"] : length >= 0.01 ? [Math.round(length * 100), "cm"] : [Math.round(length * 1000), "mm"];
      for (const { line, words, strip, told } of bars) {
        line.setAttribute("d", `M0 -12V12M0 0H${across}M${across} -12V12`);
        words.setAttribute("x", across);
        words.textContent = `${n} ${unit}`;
        strip.setAttribute("aria-label", told.replace(first, `${n} ${unit}`));
        line.style.transform = words.style.transform = "none";
      }
    });
    reserve();
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
