"use strict";
// Measures on the pictures of a square: tap points one after the other, on either picture. Told live: the
// way along them, the last leg, the angle at the last corner, and the area that they enclose.
(() => {
  const SVG = "http://www.w3.org/2000/svg";

  function start(desk) {
    const { root } = desk;
    const part = (name) => root.querySelector(`[data-measure-${name}]`);
    const [button, panel, said] = [part("start"), part("panel"), part("said")];
    const points = [];
    const apart = (one, other) => Math.hypot(one.x - other.x, one.y - other.y);

    const tool = {
      tap(pane, at) {
        points.push({ ...at });
        show();
      },
      left() {
        panel.hidden = true;
        button.setAttribute("aria-pressed", "false");
        points.length = 0;
        draw();
      },
    };

    function angleDeg([before, corner, after]) {
      const turn = Math.atan2(after.y - corner.y, after.x - corner.x) - Math.atan2(before.y - corner.y, before.x - corner.x);
      const deg = Math.abs((turn * 180) / Math.PI) % 360;
      return deg > 180 ? 360 - deg : deg;
    }

    // Twice the signed area of three points: above 0 where they turn counter-clockwise.
    const turned = (a, b, c) => (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
    const cross = (a, b, c, d) => turned(a, b, c) * turned(a, b, d) < 0 && turned(c, d, a) * turned(c, d, b) < 0;

    function crossesItself() {
      const sides = points.map((one, i) => [one, points[(i + 1) % points.length]]);
      return sides.some((one, i) => sides.slice(i + 1).some((other) => cross(...one, ...other)));
    }

    // The shoelace formula, of a line that does not cross itself.
    function areaM2() {
      return Math.abs(points.reduce((sum, one, i) => {
        const next = points[(i + 1) % points.length];
        return sum + one.x * next.y - next.x * one.y;
      }, 0)) / 2;
    }

    function lines() {
      const word = window.shedWords;
      const metres = (value) => value.toFixed(3);
      if (points.length < 2) return [word(points.length ? "measure_next" : "measure_first")];
      const legs = points.slice(1).map((one, i) => apart(points[i], one));
      const told = [word("measure_distance", { m: metres(legs.at(-1)) })];
      if (points.length > 2) {
        told.push(word("measure_along", { m: metres(legs.reduce((sum, one) => sum + one, 0)), n: points.length }));
        told.push(word("measure_angle", { deg: angleDeg(points.slice(-3)).toFixed(1) }));
        told.push(crossesItself() ? word("measure_crosses") : word("measure_area", { m2: areaM2().toFixed(4) }));
      }
      return told;
    }

    function draw() {
      for (const pane of desk.panes) {
        const layer = desk.layer(pane, "measure");
        layer.replaceChildren();
        if (!points.length) continue;
        const path = points.map(({ x, y }, i) => `${i ? "L" : "M"}${x} ${y}`).join("") + (points.length > 2 ? "Z" : "");
        for (const kind of ["over-halo", "desk-line"]) {
          const line = document.createElementNS(SVG, "path");
          line.setAttribute("class", kind);
          line.setAttribute("d", path);
          layer.append(line);
        }
        points.forEach((one) => {
          const dot = document.createElementNS(SVG, "circle");
          dot.setAttribute("class", "desk-dot");
          dot.setAttribute("r", "5");
          layer.append(dot);
          desk.stand(dot, one);
        });
      }
    }

    function show() {
      draw();
      said.textContent = lines().join(" ");
      for (const one of [part("back"), part("clear")]) one.disabled = !points.length;
    }

    // The longest that may be said, so that a further point makes no further line.
    function keepRoom() {
      const most = { m: "00.000", n: 100, deg: "000.0", m2: "00.0000" };
      const told = (...names) => names.map((name) => window.shedWords(`measure_${name}`, most)).join(" ");
      desk.keepRoom(said, [told("first"), ...["area", "crosses"].map((last) => told("distance", "along", "angle", last))]);
    }

    button.addEventListener("click", () => {
      if (desk.tool === tool) return desk.leave(tool);
      keepRoom();
      button.setAttribute("aria-pressed", "true");
      panel.hidden = false;
      show();
      desk.take(tool);
    });
    part("back").addEventListener("click", () => {
      points.pop();
      show();
    });
    part("clear").addEventListener("click", () => {
      points.length = 0;
      show();
    });
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
