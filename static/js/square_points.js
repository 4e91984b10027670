"use strict";
// Compares drawing and photograph: the same features are picked on both, pair by pair, and sent as the
// form's points. A tap sets the mark that is chosen; arrow keys on its button, or the four buttons, move
// it by a millimetre (ten with Shift). What was picked stays on this tablet until the server has it.
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const SIDES = ["drawing", "photographs"];

  function start(desk) {
    const part = (name) => desk.root.querySelector(`[data-compare-${name}]`);
    const [button, panel, list, said, form] = ["start", "panel", "pairs", "said", "form"].map(part);
    if (!panel || !form) return;
    const save = form.querySelector("button.primary");
    const field = (name) => form.elements.namedItem(name);
    const key = ["compare", field("frame").value, field("drawing_placement").value, field("photo_placement").value].join(":");
    const corner = desk.grid.corner;
    const word = window.shedWords;
    let pairs = [{}];
    let chosen = { i: 0, side: "drawing" };

    const whole = () => pairs.filter((pair) => pair.drawing && pair.photographs);
    const apartMm = ({ drawing, photographs }) => Math.hypot(photographs.x - drawing.x, photographs.y - drawing.y) * 1000;
    const isSeen = (pane) => pane.picture.getClientRects().length > 0;

    const tool = {
      tap(pane, at) {
        // Laid over one another there is one picture to tap: what is chosen tells which is meant.
        const side = desk.panes.every(isSeen) ? pane.name : chosen.side;
        if (side !== chosen.side && pairs[chosen.i][side] && !pairs[chosen.i][chosen.side]) return tell();
        if (side === "photographs" && !isCovered(at)) return tell(side);
        pairs[chosen.i][side] = { x: at.x, y: at.y };
        chosen = next(chosen.i, side);
        changed();
        turn(pane.name);
      },
      left() {
        panel.hidden = true;
        button.setAttribute("aria-pressed", "false");
        for (const pane of desk.panes) desk.layer(pane, "compare").replaceChildren();
      },
    };

    // Whether the photograph shows anything there: within its outline, or next to it.
    function isCovered({ x, y }) {
      if (!desk.grid.seen) return true;
      const { outline, slack } = desk.grid.seen;
      let isIn = false;
      for (const [i, [x1, y1]] of outline.entries()) {
        const [x0, y0] = outline.at(i - 1);
        if (y0 > y !== y1 > y && x < x0 + ((y - y0) / (y1 - y0)) * (x1 - x0)) isIn = !isIn;
        const along = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / ((x1 - x0) ** 2 + (y1 - y0) ** 2);
        const t = Math.min(Math.max(along, 0), 1);
        if (Math.hypot(x0 + t * (x1 - x0) - x, y0 + t * (y1 - y0) - y) <= slack) return true;
      }
      return isIn;
    }

    const turn = (tapped) => desk.root.dispatchEvent(new CustomEvent("desk:turn", { detail: { wanted: chosen.side, tapped } }));

    // After a mark: its partner, else the next feature.
    function next(i, side) {
      const other = SIDES.find((one) => one !== side);
      if (!pairs[i][other]) return { i, side: other };
      const open = pairs.findIndex((pair) => !pair.drawing || !pair.photographs);
      if (open >= 0) return { i: open, side: pairs[open].drawing ? "photographs" : "drawing" };
      pairs.push({});
      return { i: pairs.length - 1, side: "drawing" };
    }

    function nudge(dx, dy) {
      const mark = pairs[chosen.i][chosen.side] ?? lastMark();
      if (!mark) return;
      const [x0, y0, x1, y1] = desk.grid.box;
      const to = { x: Math.min(Math.max(mark.x + dx / 1000, x0), x1), y: Math.min(Math.max(mark.y + dy / 1000, y0), y1) };
      if (chosen.side === "photographs" && !isCovered(to)) return tell("photographs");
      Object.assign(mark, to);
      desk.say(word("compare_at", { n: chosen.i + 1, side: word(`compare_on_${chosen.side}`), x: (mark.x - corner[0]).toFixed(3), y: (mark.y - corner[1]).toFixed(3) }));
      changed();
    }

    // Where the chosen mark is not set yet, the one that was set last is meant, and chosen.
    function lastMark() {
      const at = chosen.side === "photographs" ? { i: chosen.i, side: "drawing" } : { i: chosen.i - 1, side: "photographs" };
      const mark = pairs[at.i]?.[at.side];
      if (mark) chosen = at;
      return mark;
    }

    function changed() {
      field("points").value = JSON.stringify(whole().map(({ drawing: d, photographs: p }) => [d.x, d.y, p.x, p.y]));
      save.disabled = !whole().length;
      sessionStorage.setItem(key, JSON.stringify(pairs));
      draw();
      names();
      tell();
    }

    function tell(blank = "") {
      const lines = [word(`compare_${chosen.side}`, { n: chosen.i + 1 })];
      const done = whole();
      if (done.length && !blank) {
        const rms = Math.sqrt(done.reduce((sum, pair) => sum + apartMm(pair) ** 2, 0) / done.length);
        lines.push(word("compare_so_far", { n: done.length, mm: rms.toFixed(1) }));
        if (done.length < 3) lines.push(word("compare_few"));
      }
      const refused = document.createElement("strong");
      refused.textContent = blank ? `${word("compare_blank")} ` : "";
      said.replaceChildren(refused, lines.join(" "));
    }

    function names() {
      const focused = document.activeElement?.dataset?.mark;
      list.replaceChildren(...pairs.map((pair, i) => {
        const row = document.createElement("li");
        for (const side of SIDES) {
          const pick = document.createElement("button");
          pick.type = "button";
          pick.dataset.mark = `${i} ${side}`;
          pick.textContent = `${side === "drawing" ? "□" : "○"} ${pair[side] ? i + 1 : "…"}`;
          pick.setAttribute("aria-label", word("compare_pair", { n: i + 1, side: word(`compare_on_${side}`) }));
          pick.setAttribute("aria-pressed", String(chosen.i === i && chosen.side === side));
          pick.addEventListener("click", () => choose(i, side));
          pick.addEventListener("keydown", (event) => keys(event, i, side));
          row.append(pick);
        }
        if (pair.drawing && pair.photographs) row.append(" ", word("compare_apart", { mm: apartMm(pair).toFixed(0) }));
        return row;
      }));
      const row = list.querySelector("[aria-pressed=true]")?.closest("li");
      if (row) list.scrollTo(row.offsetLeft - list.offsetLeft, row.offsetTop - list.offsetTop);
      if (focused) list.querySelector(`[data-mark="${focused}"]`)?.focus({ preventScroll: true });
    }

    function choose(i, side) {
      chosen = { i, side };
      const mark = pairs[i][side];
      if (mark) desk.lookAt(mark);
      if (mark) desk.point(mark, "keys");
      changed();
    }

    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    function keys(event, i, side) {
      const way = ways[event.key];
      if (!way || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      chosen = { i, side };
      const step = event.shiftKey ? 10 : 1;
      nudge(way[0] * step, way[1] * step);
    }

    // Drawing's marks are squares, the photograph's rings; a pair is joined by a line.
    function draw() {
      for (const pane of desk.panes) {
        const layer = desk.layer(pane, "compare");
        layer.replaceChildren();
        pairs.forEach((pair, i) => {
          if (pair.drawing && pair.photographs) {
            const line = document.createElementNS(SVG, "path");
            line.setAttribute("class", "desk-line");
            line.setAttribute("d", `M${pair.drawing.x} ${pair.drawing.y}L${pair.photographs.x} ${pair.photographs.y}`);
            layer.append(line);
          }
          for (const side of SIDES) if (pair[side]) mark(layer, i, side, pair[side], side === pane.name);
        });
      }
    }

    function mark(layer, i, side, at, isNamed) {
      const group = document.createElementNS(SVG, "g");
      group.setAttribute("class", `desk-mark${chosen.i === i && chosen.side === side ? " chosen" : ""}`);
      const shape = document.createElementNS(SVG, "path");
      shape.setAttribute("d", side === "drawing" ? "M-9-9H9V9H-9Z" : "M-10 0A10 10 0 1 0 10 0A10 10 0 1 0-10 0Z");
      const dot = document.createElementNS(SVG, "path");
      dot.setAttribute("d", "M-4 0H4M0-4V4");
      const name = document.createElementNS(SVG, "text");
      name.setAttribute("x", "13");
      name.setAttribute("y", "5");
      name.textContent = i + 1;
      group.append(shape, dot);
      if (isNamed) group.append(name);
      layer.append(group);
      desk.stand(group, at);
    }

    button.addEventListener("click", () => (desk.tool === tool ? desk.leave(tool) : begin()));
    for (const one of panel.querySelectorAll("[data-compare-by]")) {
      one.addEventListener("click", () => nudge(...one.dataset.compareBy.split(",").map(Number)));
    }
    part("take").addEventListener("click", () => {
      pairs.splice(chosen.i, 1);
      if (!pairs.length || (pairs.at(-1).drawing && pairs.at(-1).photographs)) pairs.push({});
      const i = pairs.length - 1;
      chosen = { i, side: pairs[i].drawing ? "photographs" : "drawing" };
      changed();
    });

    // The longest that may be said, so that a further feature makes no further line.
    function keepRoom() {
      const turns = SIDES.map((side) => word(`compare_${side}`, { n: 10 }));
      const longest = turns.sort((one, other) => other.length - one.length)[0];
      const soFar = [word("compare_so_far", { n: 2, mm: "000.0" }), word("compare_few")];
      desk.keepRoom(said, [[longest, ...soFar].join(" "), `${word("compare_blank")} ${longest}`]);
    }

    function begin() {
      keepRoom();
      button.setAttribute("aria-pressed", "true");
      panel.hidden = false;
      changed();
      desk.take(tool);
      turn();
    }

    form.addEventListener("submit", () => sessionStorage.setItem(`${key}:sent`, field("id").value));
    const saved = (document.body.dataset.saved || "").split(" ");
    if (saved.includes(sessionStorage.getItem(`${key}:sent`) ?? "none")) {
      sessionStorage.removeItem(key);
      sessionStorage.removeItem(`${key}:sent`);
    }
    try {
      pairs = JSON.parse(sessionStorage.getItem(key)) ?? pairs;
    } catch {
      sessionStorage.removeItem(key);
    }
    const open = pairs.findIndex((pair) => !pair.drawing || !pair.photographs);
    if (open >= 0) chosen = { i: open, side: pairs[open].drawing ? "photographs" : "drawing" };
    if (pairs.length > 1 || location.hash === "#compare") begin();
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
