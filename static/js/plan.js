"use strict";
// The plan: a tap anywhere chooses the nearest square, arrow keys move, Enter opens its card.
// Squares may be smaller than a finger, so they are no targets of their own; the table beside the
// plan is the full-size equivalent.
//
//   <div class="plan" data-card-url="/…/{c}/{r}/" data-card="#plan-card" role="application" tabindex="0">
//   <svg data-side="20" data-left="leftmost column" data-top="topmost row"> …
//     <g data-c data-r data-l="label" data-w="words">…</g> … <rect class="q-chosen" data-chosen>
// Without data-card-url an opened square is only told: "plan:opened", for block.js.
(() => {
  function start(plan) {
    const svg = plan.querySelector("svg");
    const mark = svg.querySelector("[data-chosen]");
    const said = document.querySelector(plan.dataset.said || "#plan-now");
    const side = Number(svg.dataset.side || 20);
    const squares = Array.from(svg.querySelectorAll("g[data-c]"), (shape) => {
      const c = Number(shape.dataset.c);
      const r = Number(shape.dataset.r);
      return { c, r, x: (c - svg.dataset.left) * side, y: (svg.dataset.top - r) * side, name: shape.dataset.l, words: shape.dataset.w };
    });
    const at = new Map(squares.map((square) => [`${square.c} ${square.r}`, square]));
    let chosen = at.get(plan.dataset.chosen) || null;

    function choose(square) {
      if (!square) return;
      chosen = square;
      mark.setAttribute("x", square.x);
      mark.setAttribute("y", square.y);
      mark.removeAttribute("hidden");
      mark.setAttribute("visibility", "visible");
      if (said) said.textContent = `${square.name}: ${square.words}`;
    }

    function nearest(event) {
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      let best = null;
      let least = Infinity;
      for (const square of squares) {
        const away = Math.hypot(
          Math.max(square.x - point.x, 0, point.x - square.x - side),
          Math.max(square.y - point.y, 0, point.y - square.y - side),
        );
        if (away < least) [best, least] = [square, away];
      }
      return best;
    }

    function step(dc, dr) {
      if (!chosen) return squares[0];
      const next = at.get(`${chosen.c + dc} ${chosen.r + dr}`);
      if (next) return next;
      // Past a gap in the grid: the next square in that direction, along the same row or column.
      const ahead = squares.filter((square) =>
        dc ? square.r === chosen.r && (square.c - chosen.c) * dc > 0 : square.c === chosen.c && (square.r - chosen.r) * dr > 0,
      );
      ahead.sort((a, b) => Math.abs(a.c - chosen.c) + Math.abs(a.r - chosen.r) - Math.abs(b.c - chosen.c) - Math.abs(b.r - chosen.r));
      return ahead[0] || chosen;
    }

    function open(square) {
      if (!square) return;
      plan.dispatchEvent(new CustomEvent("plan:opened", { detail: square, bubbles: true }));
      if (!plan.dataset.cardUrl) return;
      const url = plan.dataset.cardUrl.replace("{c}", square.c).replace("{r}", square.r);
      const target = plan.dataset.card;
      if (window.htmx && target) {
        window.htmx.ajax("GET", url, { target, swap: "innerHTML" }).then(() => {
          document.querySelector(target)?.scrollIntoView({ block: "nearest" });
        });
      } else location.assign(url);
    }

    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    plan.addEventListener("click", (event) => {
      const square = nearest(event);
      choose(square);
      open(square);
    });
    plan.addEventListener("keydown", (event) => {
      if (event.altKey || event.ctrlKey || event.metaKey) return;
      if (moves[event.key]) choose(step(...moves[event.key]));
      else if (event.key === "Enter" || event.key === " ") open(chosen || squares[0]);
      else return;
      event.preventDefault();
    });
    plan.addEventListener("focus", () => {
      if (!chosen) choose(squares[0]);
    });
    if (chosen) choose(chosen);
  }

  function startAll(root) {
    for (const plan of root.querySelectorAll(".plan[tabindex]:not([data-started])")) {
      plan.dataset.started = "";
      if (plan.querySelector("g[data-c]")) start(plan);
    }
  }
  startAll(document);
  document.addEventListener("htmx:load", (event) => startAll(event.target.parentNode || document));
})();
