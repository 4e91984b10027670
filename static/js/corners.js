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
    const side = Number(root.dataset.side);
    const picks = [...root.querySelectorAll("[data-pick]")].sort((a, b) => a.dataset.pick - b.dataset.pick);
    const points = []; // 0–3 corners, then crossings: {u, v, x, y} or null
    let active = 0;
    let chosen = true; // the active mark was chosen by hand: the next tap moves it, wherever it is
    let crossing = false; // taps mark crossings
    const desk = window.markingDesk(root, {
      points: () => points,
      active: () => active,
      choose,
      tapped: place,
      moved(seen) {
        points[active] = { ...points[active], ...seen };
        draw();
      },
      nudged: nudge,
      settled() {
        settle();
        chosen = false;
      },
      line: () => ({ list: corners().filter(Boolean), closed: isWhole() }),
      isRound: (i) => i < CORNERS,
      drawn: () => draw(),
    });
    const { part, image, isReady } = desk;

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
        points[active] = { ...points[active], ...seen };
      }
      chosen = false;
      settle();
      focusActive();
    }

    const meant = (seen) => desk.meant(seen, points, active, (i) => i < CORNERS);

    function markCrossing(seen) {
      const [x, y] = shape().of(seen.u, seen.v).map((share) => {
        const near = Math.round((share * side) / STRING_CM) * STRING_CM;
        return Math.min(Math.max(near, 0), side);
      });
      if ((x === 0 || x === side) && (y === 0 || y === side)) return; // a corner
      const known = points.findIndex((one, i) => i >= CORNERS && one.x === x && one.y === y);
      if (known < 0 && points.length - CORNERS >= MOST_CROSSINGS) return;
      active = known < 0 ? points.length : known;
      points[active] = { ...seen, x, y };
    }

    function nudge(du, dv) {
      points[active] = desk.moved(points[active], du, dv);
      settle();
    }

    function choose(i) {
      active = i;
      chosen = true;
      crossing = i >= CORNERS;
      desk.lookAway();
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
      desk.handles();
      picks.forEach((pick, i) => {
        pick.setAttribute("aria-pressed", String(i === active));
        pick.classList.toggle("is-set", Boolean(points[i]));
      });
      listCrossings();
      part("add-crossing").disabled = !shape() || points.length - CORNERS >= MOST_CROSSINGS;
      part("add-crossing").setAttribute("aria-pressed", String(crossing));
      part("doubt").textContent = doubt();
      desk.magnify();
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

    function listCrossings() {
      const list = part("crossings");
      const here = document.activeElement?.dataset.crossing;
      list.replaceChildren();
      points.slice(CORNERS).forEach((one, n) => {
        const i = n + CORNERS;
        const pick = button(words("crossing_name", one), () => choose(i));
        pick.dataset.crossing = i;
        pick.setAttribute("aria-pressed", String(i === active));
        pick.addEventListener("keydown", desk.keys);
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

    // Picks ------------------------------------------------------------------------------------------

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
      pick.addEventListener("keydown", desk.keys);
    });
    part("add-crossing").addEventListener("click", () => {
      crossing = true;
      active = points.length;
      tell();
      draw();
    });

    form.addEventListener("change", (event) => {
      if (!/^(c\d_|cross-)/.test(event.target.name || "")) return;
      read();
      draw();
      tell();
    });
    form.addEventListener("draft:restored", begin);
    image.addEventListener("load", begin);

    function begin() {
      read();
      const unset = corners().findIndex((one) => !one);
      if (active < CORNERS) active = unset < 0 ? active : unset;
      chosen = true;
      draw();
      tell();
    }

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
