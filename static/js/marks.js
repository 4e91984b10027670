"use strict";
// Marks any number of known points in a picture: choose a point by its name, tap where it is seen, move
// it by a hair in the magnifier, with arrow keys or buttons. The form's number fields are what is sent.
// [data-points] names the desk; each [data-point] of the form is a point: its name (data-name, or the
// field for it), u and v. data-quad of the desk: which four are the corners of a base, as the grid counts.
(() => {
  const FEWEST = 4;
  const UNEVEN = 0.12;

  function start(root) {
    const form = root.closest("form");
    const rows = [...form.querySelectorAll("[data-point]")].map((set) => ({
      set,
      called: set.dataset.name || "",
      name: set.querySelector("[name$='-name']"),
      x: set.querySelector("[name$='-x_cm'], [name$='-x_m']"),
      y: set.querySelector("[name$='-y_cm'], [name$='-y_m']"),
      u: set.querySelector("[name$='_u'], [name$='-u']"),
      v: set.querySelector("[name$='_v'], [name$='-v']"),
    }));
    const quad = (root.dataset.quad || "").split(",").filter(Boolean).map(Number);
    const points = [];
    let active = 0;
    let chosen = true; // by hand: the next tap moves it, wherever it is
    const desk = window.markingDesk(root, {
      points: () => points,
      active: () => active,
      choose,
      tapped: place,
      moved(seen) {
        points[active] = seen;
        draw();
      },
      nudged(du, dv) {
        points[active] = desk.moved(points[active], du, dv);
        settle();
      },
      settled() {
        settle();
        chosen = false;
      },
      line: () => ({ list: outline(), closed: outline().length === 4 }),
      isRound: (i) => quad.includes(i) || !quad.length,
      drawn: () => draw(),
    });
    const { part } = desk;

    function words(name, values = {}) {
      const text = part("words").content.querySelector(`[data-word="${name}"]`).textContent;
      return text.replace(/\{(\w+)\}/g, (whole, key) => (key in values ? values[key] : whole));
    }

    // The form's fields ------------------------------------------------------------------------------

    function number(field) {
      const text = field ? field.value.trim().replace(",", ".").replace("\u2212", "-") : "";
      return text === "" || Number.isNaN(Number(text)) ? null : Number(text);
    }

    function read() {
      rows.forEach((row, i) => {
        const [u, v] = [number(row.u), number(row.v)];
        points[i] = u === null || v === null ? null : { u, v };
      });
    }

    function write() {
      const put = (field, value) => {
        field.value = value === undefined ? "" : String(Math.round(value * 100) / 100);
      };
      rows.forEach((row, i) => {
        put(row.u, points[i]?.u);
        put(row.v, points[i]?.v);
      });
      form.dispatchEvent(new Event("input", { bubbles: true }));
    }

    const typed = (i) => rows[i].called || rows[i].name?.value.trim() || "";
    const isPlaced = (i) => number(rows[i].x) !== null && number(rows[i].y) !== null;
    const isListed = (i) => Boolean(typed(i) || points[i] || isPlaced(i));
    const told = (i) => typed(i) || (isPlaced(i) ? `${rows[i].x.value} / ${rows[i].y.value}` : words("nameless", { n: i + 1 }));
    const seen = () => points.filter(Boolean).length;
    const outline = () => quad.map((i) => points[i]).filter(Boolean);
    const shape = () => (quad.length && outline().length === 4 ? window.squareShape(outline().map(straight)) : null);

    // A place free of what the lens bends, where one is known: its centre, length, k1 and k2. Newton's
    // method settles, since no lens folds within its picture.
    const lens = root.dataset.lens ? root.dataset.lens.split(",").map(Number) : null;
    function straight({ u, v }) {
      if (!lens) return [u, v];
      const [midU, midV, length, k1, k2] = lens;
      const [x, y] = [(u - midU) / length, (v - midV) / length];
      const taken = Math.hypot(x, y);
      let r = taken;
      for (let step = 0; step < 20; step += 1) {
        const square = r * r;
        r -= (r * (1 + square * (k1 + square * k2)) - taken) / (1 + square * (3 * k1 + square * 5 * k2));
      }
      const share = taken > 0 ? r / taken : 1;
      return [midU + length * x * share, midV + length * y * share];
    }

    // What one does ------------------------------------------------------------------------------------

    function place(at) {
      if (!chosen) active = desk.meant(at, points, active, isListed);
      points[active] = at;
      chosen = false;
      settle();
      pickOf(active)?.focus({ preventScroll: true });
    }

    function choose(i) {
      active = i;
      chosen = true;
      desk.lookAway();
      draw();
      tell();
    }

    function takeOff() {
      points[active] = null;
      chosen = true;
      settle();
      pickOf(active)?.focus({ preventScroll: true });
    }

    function another() {
      const free = rows.findIndex((_row, i) => !isListed(i));
      if (free < 0) {
        part("said").textContent = words("full");
        return;
      }
      rows[free].set.hidden = false;
      const fold = rows[free].set.closest("details");
      if (fold) fold.open = true;
      rows[free].name.focus();
      rows[free].set.scrollIntoView({ block: "center" });
      active = free;
      chosen = true;
      draw();
    }

    // What one sees ------------------------------------------------------------------------------------

    function settle() {
      write();
      draw();
      tell();
    }

    function draw() {
      const corners = outline().map((one) => `${one.u} ${one.v}`);
      part("outline").setAttribute("d", corners.length > 1 ? `M${corners.join("L")}${corners.length === 4 ? "Z" : ""}` : "");
      desk.handles();
      list();
      part("take-off").disabled = !points[active];
      part("doubt").textContent = doubt();
      desk.magnify();
    }

    const pickOf = (i) => part("picks").querySelector(`[data-pick="${i}"]`);

    function list() {
      const wanted = rows.map((_row, i) => i).filter(isListed);
      const there = [...part("picks").children].map((pick) => Number(pick.dataset.pick));
      if (wanted.join() !== there.join()) part("picks").replaceChildren(...wanted.map(pick));
      for (const one of part("picks").children) {
        const i = Number(one.dataset.pick);
        one.textContent = told(i);
        one.setAttribute("aria-pressed", String(i === active));
        one.classList.toggle("is-set", Boolean(points[i]));
      }
    }

    function pick(i) {
      const made = document.createElement("button");
      made.type = "button";
      made.dataset.pick = i;
      made.addEventListener("click", () => choose(i));
      made.addEventListener("focus", () => {
        if (active !== i) choose(i);
      });
      made.addEventListener("keydown", desk.keys);
      return made;
    }

    function doubt() {
      const form = shape();
      if (!form) return "";
      if (form.isCrossed) return words("crossed");
      if (form.isMirrored) return words("mirrored");
      return form.uneven > UNEVEN && isSquare() ? words("uneven", { percent: Math.round(form.uneven * 100) }) : "";
    }

    const across = (name) => number(document.querySelector(`[name="${name}"]`));
    const isSquare = () => across("width_cm") !== null && across("width_cm") === across("depth_cm");

    function tell() {
      part("said").textContent = said();
    }

    function said() {
      if (!desk.isReady()) return words("waiting");
      const next = points.findIndex((one, i) => !one && isListed(i));
      const lines = [];
      if (points[active]) lines.push(misfit() || words("marked", { name: told(active) }));
      if (seen() < FEWEST) lines.push(words("few", { n: seen() }));
      else if (seen() === FEWEST) lines.push(words("four"));
      else lines.push(words("more", { n: seen() }));
      if (!points[active] && isListed(active)) lines.push(words("tap", { name: told(active) }));
      else if (next >= 0) lines.push(words("next", { name: told(next) }));
      return lines.join(" ");
    }

    // A further point of a base: how far it lies from where the corners alone put it.
    function misfit() {
      const form = shape();
      const [width, depth] = [across("width_cm"), across("depth_cm")];
      if (!form || quad.includes(active) || !isPlaced(active) || !width || !depth) return "";
      const [x, y] = form.of(...straight(points[active]));
      const away = Math.hypot((x - 0.5) * width - number(rows[active].x), (y - 0.5) * depth - number(rows[active].y));
      return words("misfit", { name: told(active), mm: (away * 10).toFixed(1) });
    }

    // Buttons and fields -------------------------------------------------------------------------------

    part("take-off").addEventListener("click", takeOff);
    part("add-point").addEventListener("click", another);
    form.addEventListener("change", (event) => {
      if (!event.target.closest("[data-point]") && !/^(width|depth)_cm$/.test(event.target.name || "")) return;
      read();
      draw();
      tell();
    });
    form.addEventListener("draft:restored", begin);
    desk.image.addEventListener("load", begin);

    // Rows that nobody needs yet stay folded away until "Another point" brings them.
    function tidy() {
      rows.forEach((row, i) => {
        if (row.name && !row.set.querySelector(".wrong, .field-error")) row.set.hidden = !isListed(i);
      });
    }

    function begin() {
      read();
      tidy();
      const next = points.findIndex((one, i) => !one && isListed(i));
      if (next >= 0) active = next;
      chosen = true;
      draw();
      tell();
    }
    begin();
  }

  function startAll() {
    for (const root of document.querySelectorAll("[data-points]:not([data-started])")) {
      root.dataset.started = "";
      start(root);
    }
  }
  startAll();
  document.addEventListener("page:shown", startAll);
})();
