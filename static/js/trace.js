"use strict";
// Traces a feature in a picture of several squares: a tap sets a point after the chosen one, a tap on a
// point chooses it; drags, the magnifier, arrow keys and buttons move it. The form's list of points, x
// and y on the grid in metres, is what is sent; the picture counts in px, y down:
// x = x_min + (u + ½)·step, y = y_max − (v + ½)·step.
(() => {
  const NEAR_CSS_PX = 16;
  const SNAP_CSS_PX = 14;

  function start(root) {
    const form = root.closest("form");
    const field = form.elements.points;
    const data = root.dataset;
    const [xMin, yMax, step] = [data.x, data.y, data.step].map(Number);
    const others = [...root.querySelectorAll("script[type='application/json']")].flatMap((one) => JSON.parse(one.textContent)).map(toPicture);
    const former = [];
    let points = [];
    let active = -1;
    const shape = () => form.elements.shape.value || "area";

    const desk = window.markingDesk(root, {
      points: () => points,
      active: () => active,
      choose(i) {
        remember();
        active = i;
      },
      tapped,
      moved(seen) {
        points[active] = seen;
        draw();
      },
      nudged(du, dv) {
        if (active < 0) return;
        remember();
        points[active] = { u: points[active].u + du, v: points[active].v + dv };
        settle();
      },
      settled() {
        points[active] = snapped(points[active]);
        settle();
      },
      line: () => ({ list: points, closed: isClosed() }),
      isRound: (i) => i > 0,
      drawn: () => draw(),
    });
    const { part } = desk;

    function toPicture([x, y]) {
      return { u: (x - xMin) / step - 0.5, v: (yMax - y) / step - 0.5 };
    }

    const toGrid = ({ u, v }) => [xMin + (u + 0.5) * step, yMax - (v + 0.5) * step];
    const isClosed = () => shape() === "area" && points.length > 2;
    const pxACssPx = () => desk.width / part("picture").clientWidth;

    // The form's list --------------------------------------------------------------------------------

    function read() {
      const told = field.value.split("\n").map((line) => line.trim().replaceAll(",", ".").replaceAll("\u2212", "-").split(/[\s;/]+/).map(Number));
      points = told.filter((one) => one.length === 2 && one.every(Number.isFinite)).map(toPicture);
      active = points.length - 1;
    }

    function write() {
      field.value = points.map((one) => toGrid(one).map((value) => value.toFixed(4)).join(" ")).join("\n");
      form.dispatchEvent(new Event("input", { bubbles: true }));
    }

    // What one does ----------------------------------------------------------------------------------

    function remember() {
      former.push({ points: points.map((one) => ({ ...one })), active });
      if (former.length > 200) former.shift();
    }

    function nearest(seen, among, reach) {
      let best = -1;
      let least = reach * pxACssPx();
      among.forEach((one, i) => {
        const away = Math.hypot(one.u - seen.u, one.v - seen.v);
        if (away < least) [best, least] = [i, away];
      });
      return best;
    }

    function snapped(seen) {
      const i = root.querySelector("[data-snap]").checked ? nearest(seen, others, SNAP_CSS_PX) : -1;
      return i < 0 ? seen : { ...others[i] };
    }

    function tapped(seen) {
      if ("drawing" in desk.image.dataset) {
        part("said").textContent = window.shedWords("waiting");
        return;
      }
      const there = nearest(seen, points, NEAR_CSS_PX);
      if (there >= 0) {
        active = there;
        draw();
        tell();
      } else add(snapped(seen));
      part("frame").focus({ preventScroll: true });
    }

    function add(seen) {
      remember();
      if (shape() === "point") points = [];
      active = shape() === "point" ? 0 : active + 1;
      points.splice(active, 0, { u: seen.u, v: seen.v });
      settle();
    }

    // Without a pointer: beside the chosen point, else in the middle of what is seen.
    function addHere() {
      const frame = part("frame");
      const share = (scrolled, seen, all) => (scrolled + seen / 2) / all;
      const middle = {
        u: share(frame.scrollLeft, frame.clientWidth, frame.scrollWidth) * desk.width - 0.5,
        v: share(frame.scrollTop, frame.clientHeight, frame.scrollHeight) * desk.height - 0.5,
      };
      add(active < 0 ? middle : { u: points[active].u + 24, v: points[active].v });
    }

    function takeOff() {
      if (active < 0) return;
      remember();
      points.splice(active, 1);
      active = points.length ? Math.max(active - 1, 0) : -1;
      settle();
    }

    function undo() {
      const before = former.pop();
      if (!before) return;
      ({ points, active } = before);
      settle();
    }

    function walk(by) {
      if (!points.length) return;
      active = (active + by + points.length) % points.length;
      desk.lookAway();
      draw();
      tell();
    }

    // What one sees ----------------------------------------------------------------------------------

    function settle() {
      write();
      draw();
      tell();
    }

    function draw() {
      const line = points.map((one) => `${one.u.toFixed(1)} ${one.v.toFixed(1)}`).join("L");
      root.querySelector("[data-outline-now]").setAttribute("d", line ? `M${line}${isClosed() ? "Z" : ""}` : "");
      desk.handles();
      desk.magnify();
    }

    function tell() {
      const at = points.map(toGrid);
      const next = (i) => at[(i + 1) % at.length];
      const legs = isClosed() ? at : at.slice(0, -1);
      const length = legs.reduce((sum, [x, y], i) => sum + Math.hypot(next(i)[0] - x, next(i)[1] - y), 0);
      const area = Math.abs(at.reduce((sum, [x, y], i) => sum + x * next(i)[1] - next(i)[0] * y, 0)) / 2;
      const told = { n: at.length, length: length.toFixed(2), area: area.toFixed(3), x: at[0]?.[0].toFixed(3), y: at[0]?.[1].toFixed(3) };
      const measures = window.shedWords(at.length ? (shape() === "area" && !isClosed() ? "line" : shape()) : "none", told);
      part("said").textContent = active < 0 ? measures : `${measures} ${window.shedWords("now", { i: active + 1 })}`;
      root.querySelector("[data-undo]").disabled = !former.length;
      for (const name of ["take-off", "before", "after"]) root.querySelector(`[data-${name}]`).disabled = active < 0;
    }

    // At first one sees the square in the middle, with half of each neighbour.
    function begin() {
      read();
      draw();
      tell();
    }

    function centre() {
      const frame = part("frame");
      root.querySelector("[data-zoom='2']").click();
      frame.scrollTop = (frame.scrollHeight - frame.clientHeight) / 2;
      frame.scrollLeft = (frame.scrollWidth - frame.clientWidth) / 2;
    }

    for (const [name, act] of [["take-off", takeOff], ["undo", undo], ["add", addHere], ["before", () => walk(-1)], ["after", () => walk(1)]]) {
      root.querySelector(`[data-${name}]`).addEventListener("click", act);
    }
    part("frame").addEventListener("keydown", (event) => {
      if (event.key === "Delete" || event.key === "Backspace") takeOff();
      else if (event.key === "Enter") addHere();
      else {
        if (active >= 0) desk.keys(event);
        return;
      }
      event.preventDefault();
    });
    field.addEventListener("change", begin);
    for (const one of form.elements.shape) {
      one.addEventListener("change", () => {
        draw();
        tell();
      });
    }
    form.addEventListener("draft:restored", begin);
    desk.image.addEventListener("load", draw);
    begin();
    centre();
  }

  function startAll() {
    for (const root of document.querySelectorAll("[data-trace]:not([data-started])")) {
      root.dataset.started = "";
      start(root);
    }
  }
  startAll();
  document.addEventListener("page:shown", startAll);
})();
