"use strict";
// Moves over the pictures of a square by mouse, touch, keys and buttons, all to the same end.
// Mouse: drag; the wheel zooms once the picture was clicked or is zoomed (before, it scrolls the page).
// Touch: drag once it is zoomed (before, it scrolls the page), two fingers zoom. Keys, in a picture: arrows
// move the cross-hair and the view follows; Shift by a millimetre; + and − zoom, 0 shows all; Enter is a tap.
(() => {
  const STEP = 1.5;
  const PAN = 0.25; // of what is seen
  const SLACK_PX = 6; // a finger's tremble is a tap

  function start(desk) {
    const { root, panes } = desk;
    const fingers = new Map();
    let [held, last, isTap, pinch] = [null, null, false, null];

    // Fingers and mouse ------------------------------------------------------------------------------

    function down(pane, event) {
      if (event.button || event.target.closest("[data-grip]")) return;
      fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      pane.picture.setPointerCapture(event.pointerId);
      held = pane;
      isTap = fingers.size === 1;
      last = { x: event.clientX, y: event.clientY };
      pinch = fingers.size === 2 ? spread(pane) : null;
    }

    function spread(pane) {
      const [one, other] = [...fingers.values()];
      const middle = { x: (one.x + other.x) / 2, y: (one.y + other.y) / 2 };
      return { apart: Math.max(Math.hypot(one.x - other.x, one.y - other.y), 1), about: desk.gridOf(pane, middle.x, middle.y), middle };
    }

    function move(pane, event) {
      if (!fingers.has(event.pointerId)) {
        if (event.pointerType === "mouse" && !fingers.size) desk.point(desk.gridOf(pane, event.clientX, event.clientY), "mouse");
        return;
      }
      fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (pinch && fingers.size === 2) return pinched(pane);
      if (isTap && Math.hypot(event.clientX - last.x, event.clientY - last.y) < SLACK_PX) return;
      isTap = false;
      if (fingers.size > 1) return;
      pan(event.clientX - last.x, event.clientY - last.y);
      last = { x: event.clientX, y: event.clientY };
    }

    function pan(dx, dy) {
      const metre = desk.metresAPixel();
      desk.lookAt({ x: desk.view.x - dx * metre, y: desk.view.y + dy * metre });
    }

    function pinched(pane) {
      const now = spread(pane);
      desk.zoomBy(now.apart / pinch.apart, pinch.about);
      pan(now.middle.x - pinch.middle.x, now.middle.y - pinch.middle.y);
      pinch = { ...now, about: desk.gridOf(pane, now.middle.x, now.middle.y) };
    }

    function up(pane, event) {
      if (!fingers.delete(event.pointerId)) return;
      if (isTap && event.type === "pointerup") desk.tapped(pane, desk.gridOf(pane, event.clientX, event.clientY), event.pointerType);
      isTap = false;
      pinch = null;
      const rest = [...fingers.values()][0];
      if (rest) last = rest;
      else held = null;
    }

    function wheel(pane, event) {
      const isOut = event.deltaY > 0;
      const isWanted = event.ctrlKey || desk.view.zoom > 1 || (!isOut && pane.picture.contains(document.activeElement));
      if (!isWanted || (isOut && desk.view.zoom <= 1 && !event.ctrlKey)) return;
      event.preventDefault();
      const lines = event.deltaMode === 1 ? 16 : 1;
      const by = Math.exp(-Math.max(-120, Math.min(120, event.deltaY * lines)) / 300);
      desk.zoomBy(by, desk.gridOf(pane, event.clientX, event.clientY));
    }

    for (const pane of panes) {
      const { picture } = pane;
      picture.addEventListener("pointerdown", (event) => down(pane, event));
      picture.addEventListener("pointermove", (event) => move(pane, event));
      picture.addEventListener("pointerup", (event) => up(pane, event));
      picture.addEventListener("pointercancel", (event) => up(pane, event));
      picture.addEventListener("pointerleave", (event) => {
        if (event.pointerType === "mouse" && !held) desk.point(null, "mouse");
      });
      picture.addEventListener("wheel", (event) => wheel(pane, event), { passive: false });
      picture.addEventListener("touchstart", (event) => {
        if (event.touches.length > 1) event.preventDefault(); // else the page scrolls under two fingers
      }, { passive: false });
      picture.addEventListener("dragstart", (event) => event.preventDefault());
      picture.addEventListener("keydown", (event) => key(pane, event));
    }

    // Keys -------------------------------------------------------------------------------------------

    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

    function key(pane, event) {
      if (event.altKey || event.ctrlKey || event.metaKey) return;
      const way = ways[event.key];
      if (way) step(way, event.shiftKey);
      else if (event.key === "+" || event.key === "=") desk.zoomBy(STEP, desk.at ?? desk.view);
      else if (event.key === "-") desk.zoomBy(1 / STEP, desk.at ?? desk.view);
      else if (event.key === "0") desk.lookAt({ zoom: 1 });
      else if ((event.key === "Enter" || event.key === " ") && desk.at) desk.tapped(pane, desk.at, "keys");
      else if (event.key === "Escape" && desk.tool) desk.take(null);
      else return;
      event.preventDefault();
      event.stopPropagation();
    }

    function step([dx, dy], isFine) {
      const [x0, y0, x1, y1] = desk.grid.box;
      const from = desk.at ?? { x: desk.view.x, y: desk.view.y };
      const by = isFine ? 0.001 : strideM();
      const held = (value, least, most) => Math.min(Math.max(value, least), most);
      const there = { x: held(from.x + dx * by, x0, x1), y: held(from.y + dy * by, y0, y1) };
      follow(there);
      desk.point(there, "keys");
    }

    // Some ten pixels, round in millimetres.
    function strideM() {
      const wanted = desk.metresAPixel() * 10;
      return [0.001, 0.002, 0.005, 0.01, 0.02, 0.05].find((one) => one >= wanted) ?? 0.1;
    }

    function follow({ x, y }) {
      const reach = ((desk.grid.box[2] - desk.grid.box[0]) / desk.view.zoom) * 0.42;
      const near = (middle, place) => Math.min(Math.max(middle, place - reach), place + reach);
      desk.lookAt({ x: near(desk.view.x, x), y: near(desk.view.y, y) });
    }

    // Buttons ----------------------------------------------------------------------------------------

    for (const button of root.querySelectorAll("[data-zoom-by]")) {
      button.addEventListener("click", () => desk.zoomBy(Number(button.dataset.zoomBy)));
    }
    root.querySelector("[data-zoom-all]").addEventListener("click", () => desk.lookAt({ zoom: 1 }));
    for (const button of root.querySelectorAll("[data-pan]")) {
      button.addEventListener("click", () => {
        const [dx, dy] = button.dataset.pan.split(",").map(Number);
        const seen = ((desk.grid.box[2] - desk.grid.box[0]) / desk.view.zoom) * PAN;
        desk.lookAt({ x: desk.view.x + dx * seen, y: desk.view.y + dy * seen });
      });
    }

    // A finger scrolls the page over a picture that shows all, and moves one that is zoomed.
    root.addEventListener("desk:settled", () => root.classList.toggle("is-zoomed", desk.view.zoom > 1));
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
