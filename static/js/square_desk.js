"use strict";
// The desk of a square: its drawing and its photographs, seen through one view that both share. This is
// the door for everything that lies over them or works on them; x and y are metres of the grid, y up.
//
//   const desk = window.squareDesk();      // null on a page without one; the same one at every call
//   desk.root                              // the element whose events are told below
//   desk.grid                              // {label, box: [x0, y0, x1, y1], corner: [x, y], side, wall};
//                                          // site: {origin, x, y} for those who may see positions;
//                                          // seen: {outline, slack}, what the one photograph covers
//   desk.panes                             // [{name: "drawing" | "photographs", picture, image or null}]
//   desk.view                              // {x, y, zoom}: what is in the middle; zoom 1 shows all
//   desk.lookAt({x, y, zoom})              // any of them; kept within the box. Only transforms change
//   desk.zoomBy(factor, {x, y})            // the point, else the middle, stays where it is on the screen
//   desk.gridOf(pane, clientX, clientY)    // → {x, y}
//   desk.screenOf(pane, {x, y})            // → {x, y} in the window, CSS px
//   desk.metresAPixel()                    // of a CSS px, as it is zoomed now
//   desk.layer(pane, name)                 // an SVG <g> in metres of the grid, y up, that moves along;
//                                          // give shapes vector-effect: non-scaling-stroke
//   desk.stand(element, {x, y})            // an element of a layer drawn round (0, 0) in CSS px, y down,
//                                          // stands there, upright and as large at every zoom
//   desk.take(tool), desk.leave(tool)      // one tool at a time: tool.tap(pane, at) hears taps and Enter at
//                                          // the cross-hair, tool.left() that another was taken. What a tool
//                                          // lets people drag bears data-grip, and the view stays
//   desk.tool                              // the one taken, or null
//   desk.point(at or null, by)             // the cross-hair, in both panes; by "mouse", "touch" or "keys"
//   desk.at                                // where it is, or null
//   desk.say(words)                        // one line below the pictures, read out
//   desk.keepRoom(element, [words])        // its parent stays as tall as the longest of these words takes, at
//                                          // any width: what a tool says never moves what one aims at
//
// Events of desk.root: desk:looked (the view moved), desk:settled (it rests), desk:pointed (detail {at, by}),
// desk:took (a tool came or went), desk:arranged (the two were laid otherwise), desk:turn (detail: {wanted,
// tapped}, the names of the pane where the tool wants the next tap, and of the one just tapped).
window.squareDesk = (() => {
  const MOST_ZOOM = 16;
  const REST_MS = 160;
  const AWAY = "translate(-9999px, -9999px)";
  const SVG = "http://www.w3.org/2000/svg";
  let made = null;

  function make(root, grid) {
    const [x0, y0, x1, y1] = grid.box;
    const [wide, high] = [x1 - x0, y1 - y0];
    const panes = [...root.querySelectorAll("[data-pane]")].map((picture) => ({
      name: picture.dataset.pane,
      picture,
      image: picture.querySelector(":scope > img"),
      svg: picture.querySelector(":scope > svg"),
    }));
    const units = panes[0].svg.viewBox.baseVal; // of the pictures' overlays
    const view = { x: (x0 + x1) / 2, y: (y0 + y1) / 2, zoom: 1 };
    const standing = new Map();
    let [at, tool, due, rest] = [null, null, 0, 0];

    const acrossOf = (x) => (x - x0) / wide;
    const downOf = (y) => (y1 - y) / high;
    const tell = (name, detail) => root.dispatchEvent(new CustomEvent(`desk:${name}`, { detail }));

    // What lies over a picture: what moves with it, and the cross-hair.
    for (const pane of panes) {
      pane.moves = document.createElementNS(SVG, "g");
      pane.moves.append(...pane.svg.childNodes);
      pane.cross = document.createElementNS(SVG, "g");
      pane.cross.setAttribute("class", "desk-cross");
      for (const kind of ["over-halo", "desk-hair"]) {
        const lines = document.createElementNS(SVG, "path");
        lines.setAttribute("class", kind);
        lines.setAttribute("d", "M-2400 0H-14M14 0H2400M0-2400V-14M0 14V2400");
        pane.cross.append(lines);
      }
      pane.cross.style.transform = AWAY;
      pane.svg.append(pane.moves, pane.cross);
      pane.picture.tabIndex = 0;
      pane.picture.setAttribute("role", "application");
      pane.picture.setAttribute("aria-label", window.shedWords(`desk_pane_${pane.name}`));
      for (const find of pane.moves.querySelectorAll(".over-find")) {
        const arms = find.querySelector("path").getBBox();
        standing.set(find, { u: arms.x + arms.width / 2, v: arms.y + arms.height / 2 });
      }
    }

    function hold(value, from, to) {
      const half = (to - from) / 2 / view.zoom;
      return Math.min(Math.max(value, from + half), to - half);
    }

    function lookAt(wanted) {
      view.zoom = Math.min(Math.max(wanted.zoom ?? view.zoom, 1), MOST_ZOOM);
      view.x = hold(wanted.x ?? view.x, x0, x1);
      view.y = hold(wanted.y ?? view.y, y0, y1);
      due ||= requestAnimationFrame(show);
    }

    function zoomBy(factor, about = view) {
      const zoom = Math.min(Math.max(view.zoom * factor, 1), MOST_ZOOM);
      const share = view.zoom / zoom;
      lookAt({ x: about.x + (view.x - about.x) * share, y: about.y + (view.y - about.y) * share, zoom });
    }

    function show() {
      due = 0;
      const { zoom } = view;
      const [left, top] = [0.5 - zoom * acrossOf(view.x), 0.5 - zoom * downOf(view.y)]; // shares of a pane
      for (const pane of panes) {
        if (pane.image) pane.image.style.transform = `translate(${left * 100}%, ${top * 100}%) scale(${zoom})`;
        pane.moves.style.transform = `translate(${left * units.width}px, ${top * units.height}px) scale(${zoom})`;
      }
      standAll();
      showCross();
      tell("looked");
      clearTimeout(rest);
      rest = setTimeout(() => tell("settled"), REST_MS);
    }

    // Things that keep their size --------------------------------------------------------------------

    const metresAPixel = () => wide / (widest() || 1) / view.zoom;
    const widest = () => Math.max(...panes.map((pane) => pane.width || 0));

    function standAll() {
      const metre = metresAPixel();
      for (const [element, place] of standing) {
        if (!element.isConnected) standing.delete(element);
        else element.style.transform = transformOf(place, metre);
      }
    }

    function transformOf(place, metre) {
      if ("u" in place) {
        const { u, v } = place;
        return `translate(${u}px, ${v}px) scale(${1 / view.zoom}) translate(${-u}px, ${-v}px)`;
      }
      return `translate(${place.x}px, ${place.y}px) scale(${metre}, ${-metre})`;
    }

    function stand(element, place) {
      standing.set(element, place);
      element.style.transform = transformOf(place, metresAPixel());
    }

    function layer(pane, name) {
      const there = pane.moves.querySelector(`[data-layer="${CSS.escape(name)}"]`);
      if (there) return there;
      const group = document.createElementNS(SVG, "g");
      group.dataset.layer = name;
      const [u, v] = [units.width / wide, units.height / high];
      group.setAttribute("transform", `matrix(${u} 0 0 ${-v} ${-x0 * u} ${y1 * v})`);
      pane.moves.append(group);
      return group;
    }

    // The cross-hair ---------------------------------------------------------------------------------

    function point(place, by) {
      at = place;
      showCross();
      tell("pointed", { at, by });
    }

    function showCross() {
      for (const pane of panes) {
        const isSeen = at !== null && at.x >= x0 && at.x <= x1 && at.y >= y0 && at.y <= y1;
        if (!isSeen) {
          pane.cross.style.transform = AWAY;
          continue;
        }
        const u = (0.5 + view.zoom * (acrossOf(at.x) - acrossOf(view.x))) * units.width;
        const v = (0.5 + view.zoom * (downOf(at.y) - downOf(view.y))) * units.height;
        pane.cross.style.transform = `translate(${u}px, ${v}px)`;
      }
    }

    // Places and tools -------------------------------------------------------------------------------

    function gridOf(pane, clientX, clientY) {
      const box = pane.picture.getBoundingClientRect();
      const [across, down] = [(clientX - box.left - pane.picture.clientLeft) / pane.picture.clientWidth, (clientY - box.top - pane.picture.clientTop) / pane.picture.clientHeight];
      return { x: view.x + ((across - 0.5) * wide) / view.zoom, y: view.y - ((down - 0.5) * high) / view.zoom };
    }

    function screenOf(pane, { x, y }) {
      const box = pane.picture.getBoundingClientRect();
      return {
        x: box.left + pane.picture.clientLeft + (0.5 + ((x - view.x) / wide) * view.zoom) * pane.picture.clientWidth,
        y: box.top + pane.picture.clientTop + (0.5 - ((y - view.y) / high) * view.zoom) * pane.picture.clientHeight,
      };
    }

    function take(wanted) {
      if (tool === wanted) return;
      const before = tool;
      tool = wanted;
      before?.left?.();
      tell("took");
    }

    const watcher = new ResizeObserver((seen) => {
      for (const { target, contentRect } of seen) panes.find((one) => one.picture === target).width = contentRect.width;
      standAll();
      tell("settled");
    });
    for (const pane of panes) watcher.observe(pane.picture);

    const said = root.querySelector("[data-desk-said]");
    return {
      root, grid, panes, view, lookAt, zoomBy, gridOf, screenOf, metresAPixel, layer, stand, point, take,
      get at() { return at; },
      get tool() { return tool; },
      leave(one) { if (tool === one) take(null); },
      tapped(pane, place, by) {
        point(place, by);
        tool?.tap?.(pane, place);
      },
      say(words) { said.textContent = words; },
      keepRoom(element, fillings) {
        if (element.parentElement.childElementCount > 1) return;
        element.after(...fillings.map((words) => {
          const line = document.createElement("p");
          line.className = "desk-room";
          line.setAttribute("aria-hidden", "true");
          line.textContent = words;
          return line;
        }));
      },
    };
  }

  return () => {
    const root = document.querySelector("[data-square-desk]");
    const numbers = document.getElementById("desk-numbers");
    if (made === null && root && numbers) {
      made = make(root, JSON.parse(numbers.textContent));
      for (const part of root.querySelectorAll("[data-desk-part]")) part.hidden = false;
    }
    return made;
  };
})();
