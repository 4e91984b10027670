"use strict";
// Marks the corners of a square on its sheet: tap coarsely in the sheet, finely in the magnifier, or
// move the mark with arrow keys or buttons. The form's number fields are what is sent; this reads
// and writes them. Places are px of the full, upright picture: u = x_css · w / w_css − ½.
(() => {
  const CORNERS = 4;
  const STRING_CM = 20;
  const MOST_CROSSINGS = 8;
  const UNEVEN = 0.12;

  function start(root) {
    const form = root.closest("form");
    const width = Number(root.dataset.width);
    const height = Number(root.dataset.height);
    const side = Number(root.dataset.side);
    const part = (name) => root.querySelector(`[data-${name}]`);
    const picture = part("picture");
    const image = picture.querySelector("img");
    const glass = part("loupe");
    const picks = [...root.querySelectorAll("[data-pick]")].sort((a, b) => a.dataset.pick - b.dataset.pick);
    const points = []; // 0–3 corners, then crossings: {u, v, x, y} or null
    let active = 0;
    let chosen = true; // the active mark was chosen by hand: the next tap moves it, wherever it is
    let crossing = false; // taps mark crossings
    let hover = null;

    function words(name, values = {}) {
      const text = part("words").content.querySelector(`[data-word="${name}"]`).textContent;
      return text.replace(/\{(\w+)\}/g, (whole, key) => (key in values ? values[key] : whole));
    }

    // The form's fields --------------------------------------------------------------------------

    const field = (name) => form.elements[name];
    const number = (name) => {
      const text = field(name).value.trim().replace(",", ".");
      return text === "" || Number.isNaN(Number(text)) ? null : Number(text);
    };

    function read() {
      points.length = 0;
      for (let i = 0; i < CORNERS; i += 1) points.push(pair(number(`c${i}_u`), number(`c${i}_v`)));
      for (let i = 0; field(`cross-${i}-u`); i += 1) {
        const seen = pair(number(`cross-${i}-u`), number(`cross-${i}-v`));
        if (seen) points.push({ ...seen, x: number(`cross-${i}-x_cm`), y: number(`cross-${i}-y_cm`) });
      }
    }

    const pair = (u, v) => (u === null || v === null ? null : { u, v });

    function write() {
      const put = (name, value) => {
        field(name).value = value === undefined ? "" : String(Math.round(value * 100) / 100);
      };
      for (let i = 0; i < CORNERS; i += 1) {
        put(`c${i}_u`, points[i]?.u);
        put(`c${i}_v`, points[i]?.v);
      }
      const crossings = points.slice(CORNERS);
      for (let i = 0; field(`cross-${i}-u`); i += 1) {
        put(`cross-${i}-u`, crossings[i]?.u);
        put(`cross-${i}-v`, crossings[i]?.v);
        put(`cross-${i}-x_cm`, crossings[i]?.x);
        put(`cross-${i}-y_cm`, crossings[i]?.y);
      }
      form.dispatchEvent(new Event("input", { bubbles: true }));
    }

    const corners = () => points.slice(0, CORNERS);
    const isWhole = () => corners().every(Boolean);
    const shape = () => (isWhole() ? window.squareShape(corners().map((one) => [one.u, one.v])) : null);
    const name = (i) => picks[i].firstChild.textContent.trim();

    // What one does ---------------------------------------------------------------------------------

    function place(seen) {
      if (crossing) markCrossing(seen);
      else {
        if (!chosen) active = meant(seen);
        points[active] = within(seen);
      }
      chosen = false;
      settle();
      focusActive();
    }

    // A tap far from the last mark is the next corner; once all are there, the nearest mark.
    function meant(seen) {
      const far = Math.hypot(width, height) / 10;
      const away = (one) => (one ? Math.hypot(one.u - seen.u, one.v - seen.v) : Infinity);
      const unset = corners().findIndex((one) => !one);
      if (unset < 0) return points.reduce((best, one, i) => (away(one) < away(points[best]) ? i : best), 0);
      return points[active] && away(points[active]) < far ? active : unset;
    }

    function markCrossing(seen) {
      const [x, y] = shape().of(seen.u, seen.v).map((share) => {
        const near = Math.round((share * side) / STRING_CM) * STRING_CM;
        return Math.min(Math.max(near, 0), side);
      });
      if ((x === 0 || x === side) && (y === 0 || y === side)) return; // a corner
      const known = points.findIndex((one, i) => i >= CORNERS && one.x === x && one.y === y);
      if (known < 0 && points.length - CORNERS >= MOST_CROSSINGS) return;
      active = known < 0 ? points.length : known;
      points[active] = { ...within(seen), x, y };
    }

    function within(seen) {
      const hold = (value, most) => Math.min(Math.max(value, -0.5), most - 0.5);
      return { ...points[active], u: hold(seen.u, width), v: hold(seen.v, height) };
    }

    function nudge(du, dv) {
      const from = points[active] || { u: width / 2, v: height / 2 };
      points[active] = within({ u: from.u + du, v: from.v + dv });
      settle();
    }

    function choose(i) {
      active = i;
      chosen = true;
      crossing = i >= CORNERS;
      hover = null;
      draw();
    }

    function takeOff(i) {
      points.splice(i, 1);
      choose(0);
      settle();
      picks[0].focus();
    }

    // What one sees --------------------------------------------------------------------------------

    function settle() {
      write();
      draw();
      tell();
    }

    function draw() {
      const path = (list, closed) => (list.length > 1 ? `M${list.map((one) => one.join(" ")).join("L")}${closed ? "Z" : ""}` : "");
      const set = corners().filter(Boolean).map((one) => [one.u, one.v]);
      part("outline").setAttribute("d", path(set, isWhole()));
      part("strings").setAttribute("d", strings());
      part("handles").replaceChildren(...points.map(handle).filter(Boolean));
      picks.forEach((pick, i) => {
        pick.setAttribute("aria-pressed", String(i === active));
        pick.classList.toggle("is-set", Boolean(points[i]));
      });
      listCrossings();
      part("add-crossing").disabled = !shape() || points.length - CORNERS >= MOST_CROSSINGS;
      part("add-crossing").setAttribute("aria-pressed", String(crossing));
      part("doubt").textContent = doubt();
      magnify();
    }

    function strings() {
      const form = shape();
      if (!form || form.isCrossed) return "";
      const lines = [];
      for (let at = STRING_CM; at < side - 1; at += STRING_CM) {
        const share = at / side;
        lines.push([form.at(share, 0), form.at(share, 1)], [form.at(0, share), form.at(1, share)]);
      }
      return lines.map(([a, b]) => `M${a.join(" ")}L${b.join(" ")}`).join("");
    }

    function handle(one, i) {
      if (!one) return null;
      const mark = document.createElementNS("http://www.w3.org/2000/svg", "g");
      const reach = (width / picture.clientWidth) * 11;
      mark.setAttribute("class", `handle${i === active ? " active" : ""}`);
      mark.dataset.handle = i;
      const ring = document.createElementNS("http://www.w3.org/2000/svg", i < CORNERS ? "circle" : "rect");
      const size = i < CORNERS ? { cx: one.u, cy: one.v, r: reach } : { x: one.u - reach * 0.7, y: one.v - reach * 0.7, width: reach * 1.4, height: reach * 1.4 };
      for (const [key, value] of Object.entries(size)) ring.setAttribute(key, value);
      const dot = document.createElementNS("http://www.w3.org/2000/svg", "path");
      dot.setAttribute("d", `M${one.u - reach} ${one.v}h${reach * 2}M${one.u} ${one.v - reach}v${reach * 2}`);
      mark.append(ring, dot);
      return mark;
    }

    function listCrossings() {
      const list = part("crossings");
      const here = document.activeElement?.dataset.crossing;
      list.replaceChildren();
      points.slice(CORNERS).forEach((one, n) => {
        const i = n + CORNERS;
        const pick = button(words("crossing_name", one), () => choose(i));
        pick.dataset.crossing = i;
        pick.setAttribute("aria-pressed", String(i === active));
        pick.addEventListener("keydown", keys);
        const off = button("×", () => takeOff(i));
        off.setAttribute("aria-label", words("take_off", one));
        list.append(pick, off);
      });
      if (here !== undefined) list.querySelector(`[data-crossing="${here}"]`)?.focus({ preventScroll: true });
    }

    function button(text, act) {
      const made = document.createElement("button");
      made.type = "button";
      made.textContent = text;
      made.addEventListener("click", act);
      return made;
    }

    function doubt() {
      const form = shape();
      if (!form) return "";
      if (form.isCrossed) return words("crossed");
      if (form.isMirrored) return words("mirrored");
      return form.uneven > UNEVEN ? words("uneven", { percent: Math.round(form.uneven * 100) }) : "";
    }

    function tell() {
      part("now").textContent = said();
    }

    function said() {
      if (!isReady()) return words("waiting");
      const unset = corners().findIndex((one) => !one);
      if (active >= CORNERS && points[active]) {
        const { u, v, x, y } = points[active];
        const [seenX, seenY] = shape().of(u, v);
        const away = Math.hypot(seenX * side - x, seenY * side - y) * 10;
        return words("crossing", { x, y, mm: away.toFixed(1) });
      }
      if (crossing) return words("tap_crossing");
      if (unset < 0) return words("all");
      const next = words("next", { corner: name(points[active] ? unset : active) });
      return points[active] ? `${words("marked", { corner: sentence(name(active)) })} ${next}` : next;
    }

    const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1);

    // The magnifier ---------------------------------------------------------------------------------

    const isReady = () => image.complete && image.naturalWidth > 0 && !("making" in image.dataset);
    const shown = () => hover || points[active] || { u: width / 2, v: height / 2 };
    const spanPx = () => Math.max(48, width / 28); // of the full picture, across the glass

    function magnify() {
      const sharp = window.devicePixelRatio || 1;
      const across = glass.clientWidth;
      if (!across || !isReady()) return;
      if (glass.width !== Math.round(across * sharp)) glass.width = glass.height = Math.round(across * sharp);
      const pen = glass.getContext("2d");
      const scale = glass.width / spanPx();
      const middle = shown();
      const k = [image.naturalWidth / width, image.naturalHeight / height];
      pen.setTransform(1, 0, 0, 1, 0, 0);
      pen.fillStyle = "#808080";
      pen.fillRect(0, 0, glass.width, glass.height);
      pen.imageSmoothingEnabled = scale * Math.min(...k) < 3;
      // The picture's pixel (0, 0) has its middle there: its edge lies half a pixel before.
      const [left, top] = [middle.u - spanPx() / 2, middle.v - spanPx() / 2];
      pen.drawImage(image, (left + 0.5) * k[0], (top + 0.5) * k[1], spanPx() * k[0], spanPx() * k[1], 0, 0, glass.width, glass.height);
      const at = ([u, v]) => [(u - left) * scale, (v - top) * scale];
      line(pen, corners().filter(Boolean).map((one) => at([one.u, one.v])), isWhole(), sharp);
      cross(pen, at([middle.u, middle.v]), sharp);
    }

    function line(pen, list, closed, sharp) {
      if (list.length < 2) return;
      pen.beginPath();
      list.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y)));
      if (closed) pen.closePath();
      pen.lineWidth = sharp;
      pen.strokeStyle = "#0a4383";
      pen.stroke();
    }

    function cross(pen, [x, y], sharp) {
      for (const [colour, wide] of [["#ffffff", 3.5], ["#8f2a00", 1.5]]) {
        pen.beginPath();
        for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
          pen.moveTo(x + dx * 5 * sharp, y + dy * 5 * sharp);
          pen.lineTo(x + dx * glass.width, y + dy * glass.width);
        }
        pen.lineWidth = wide * sharp;
        pen.strokeStyle = colour;
        pen.stroke();
      }
      pen.fillStyle = "#8f2a00";
      pen.fillRect(x - sharp, y - sharp, 2 * sharp, 2 * sharp);
    }

    // Taps, drags and keys ---------------------------------------------------------------------------

    function seenAt(event) {
      const box = image.getBoundingClientRect();
      return {
        u: ((event.clientX - box.left) * width) / box.width - 0.5,
        v: ((event.clientY - box.top) * height) / box.height - 0.5,
      };
    }

    let dragged = null;
    picture.addEventListener("pointerdown", (event) => {
      const grip = event.target.closest("[data-handle]");
      if (!grip || event.button) return;
      dragged = { i: Number(grip.dataset.handle), moved: false };
      picture.setPointerCapture(event.pointerId);
      event.preventDefault();
    });
    picture.addEventListener("pointermove", (event) => {
      if (dragged) {
        if (!dragged.moved) choose(dragged.i);
        dragged.moved = true;
        points[active] = within(seenAt(event));
        draw();
      } else if (event.pointerType === "mouse") {
        hover = seenAt(event);
        magnify();
      }
    });
    picture.addEventListener("pointerup", () => {
      if (!dragged) return;
      if (dragged.moved) {
        settle();
        chosen = false;
        swallow = true;
      }
      dragged = null;
    });
    picture.addEventListener("pointercancel", () => {
      dragged = null;
    });
    picture.addEventListener("pointerleave", () => {
      hover = null;
      magnify();
    });
    let swallow = false; // the click that ends a drag
    picture.addEventListener("click", (event) => {
      if (swallow) swallow = false;
      else if (isReady()) {
        hover = null;
        place(seenAt(event));
      }
    });
    glass.addEventListener("click", (event) => {
      const box = glass.getBoundingClientRect();
      const scale = spanPx() / box.width;
      nudge((event.clientX - box.left - box.width / 2) * scale, (event.clientY - box.top - box.height / 2) * scale);
    });

    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    function keys(event) {
      const way = ways[event.key];
      if (!way || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      hover = null;
      const step = event.shiftKey ? 10 : 1;
      nudge(way[0] * step, way[1] * step);
    }

    function focusActive() {
      const target = active < CORNERS ? picks[active] : part("crossings").querySelector(`[data-crossing="${active}"]`);
      target?.focus({ preventScroll: true });
    }

    picks.forEach((pick, i) => {
      pick.addEventListener("click", () => {
        choose(i);
        tell();
      });
      pick.addEventListener("focus", () => {
        if (active !== i) choose(i);
      });
      pick.addEventListener("keydown", keys);
    });
    for (const one of root.querySelectorAll("[data-nudge]")) {
      one.addEventListener("click", () => {
        hover = null;
        nudge(...one.dataset.nudge.split(",").map(Number));
      });
    }
    part("add-crossing").addEventListener("click", () => {
      crossing = true;
      active = points.length;
      tell();
      draw();
    });
    for (const one of root.querySelectorAll("[data-zoom]")) {
      one.addEventListener("click", () => {
        const frame = part("frame");
        const middle = (frame.scrollLeft + frame.clientWidth / 2) / picture.clientWidth;
        picture.classList.remove("zoom-2", "zoom-3");
        if (one.dataset.zoom !== "1") picture.classList.add(`zoom-${one.dataset.zoom}`);
        frame.scrollLeft = middle * picture.clientWidth - frame.clientWidth / 2;
        draw();
      });
    }

    form.addEventListener("change", (event) => {
      if (!/^(c\d_|cross-)/.test(event.target.name || "")) return;
      read();
      draw();
      tell();
    });
    form.addEventListener("draft:restored", begin);
    image.addEventListener("load", begin);
    new ResizeObserver(() => draw()).observe(picture);

    function begin() {
      read();
      const unset = corners().findIndex((one) => !one);
      if (active < CORNERS) active = unset < 0 ? active : unset;
      chosen = true;
      draw();
      tell();
    }

    picture.style.aspectRatio = `${width} / ${height}`;
    for (const desk of root.querySelectorAll("[data-desk]")) desk.hidden = false;
    begin();
  }

  function startAll() {
    for (const root of document.querySelectorAll("[data-corners]:not([data-started])")) {
      root.dataset.started = "";
      start(root);
    }
  }
  startAll();
  document.addEventListener("page:shown", startAll);
})();
