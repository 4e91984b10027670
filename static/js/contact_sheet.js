"use strict";
// The contact sheet: a tap or the arrows choose a frame and show what may be done with it; K keeps,
// L leaves out, Z undoes, only while the focus is on the sheet. A frame may be dragged onto another
// station; the panel has a button for it. While files arrive the sheet is drawn anew.
(() => {
  const LOOK_MS = 4000;
  const desk = () => document.getElementById("card-desk");
  const sheet = () => desk()?.querySelector("[data-contact-sheet]");
  const frames = () => Array.from(sheet()?.querySelectorAll("a[data-frame]") || []);
  const panel = () => document.getElementById("card-panel");
  const current = () => sheet()?.querySelector("a[aria-current]");
  let asked = 0;

  function follow() {
    const place = current()?.closest("li").dataset.place;
    for (const mark of desk().querySelectorAll("[data-foot], g[data-place]")) {
      mark.classList.toggle("chosen", place !== undefined && (mark.dataset.foot ?? mark.dataset.place) === place);
    }
  }

  // A second tap on the frame that is shown must not close what was opened for it.
  const isShown = (frame) => frame === current() && panel()?.querySelector("input[name=frame]")?.value === frame.dataset.frame;

  function choose(frame, { now = false } = {}) {
    if (!frame || isShown(frame)) return;
    current()?.removeAttribute("aria-current");
    frame.setAttribute("aria-current", "true");
    desk().dataset.chosen = frame.dataset.frame;
    follow();
    clearTimeout(asked);
    asked = setTimeout(() => {
      window.htmx.ajax("GET", `${desk().dataset.url}?at=${frame.dataset.frame}`, { target: "#card-panel", swap: "innerHTML" });
    }, now ? 0 : 200);
  }

  function refresh() {
    const { url, chosen } = desk().dataset;
    if (url) window.htmx.ajax("GET", `${url}?at=${chosen}`, { target: "#card-desk", swap: "outerHTML" });
  }

  // Somebody is choosing a reason or a station: the sheet must not be drawn anew under their hands.
  const isTyping = () => Boolean(panel()?.querySelector("details[open], select:focus"));

  async function look() {
    const { url, chosen, seen } = desk()?.dataset || {};
    if (!url || document.hidden || isTyping() || busy()) return;
    try {
      const answer = await fetch(`${url}?at=${chosen}&unless=${encodeURIComponent(seen)}`, { headers: { "HX-Target": "card-desk", "HX-Request": "true" } });
      if (answer.status === 200 && !answer.redirected && !isTyping()) refresh();
    } catch {
      // The connection is away; the next look will do.
    }
  }

  // Keys --------------------------------------------------------------------------------------------

  const busy = () => Boolean(desk()?.querySelector("form.htmx-request"));

  function press(name) {
    panel()?.querySelector(`[data-key="${name}"]`)?.click();
  }

  function columns(all) {
    const top = all[0]?.getBoundingClientRect().top;
    return Math.max(1, all.filter((one) => Math.abs(one.getBoundingClientRect().top - top) < 2).length);
  }

  function move(step) {
    const all = frames();
    const at = all.indexOf(document.activeElement.closest("a[data-frame]") || current());
    const next = all[Math.min(Math.max(at + step, 0), all.length - 1)];
    next?.focus();
    next?.scrollIntoView({ block: "nearest" });
    choose(next);
  }

  function keep() {
    if (current()?.closest("li").classList.contains("left-out")) press("keep");
    else move(1);
  }

  function leaveOut() {
    const fold = panel()?.querySelector("[data-leave]");
    if (!fold) return;
    fold.open = true;
    fold.querySelector("input:checked").focus();
    fold.scrollIntoView({ block: "nearest" });
  }

  const keys = {
    ArrowLeft: () => move(-1),
    ArrowRight: () => move(1),
    ArrowUp: () => move(-columns(frames())),
    ArrowDown: () => move(columns(frames())),
    k: keep,
    l: leaveOut,
    z: () => press("undo"),
  };

  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || !event.target.closest?.("[data-contact-sheet]")) return;
    const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!act) return;
    event.preventDefault();
    if (!busy()) act();
  });

  document.addEventListener("click", (event) => {
    const frame = event.target.closest("a[data-frame]");
    if (!frame || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    frame.focus();
    choose(frame, { now: true });
  });

  // Dragging: the same as "Put it there" ----------------------------------------------------------------

  let dragged = null;
  document.addEventListener("dragstart", (event) => {
    dragged = event.target.closest?.("a[data-frame]") || null;
    if (dragged) event.dataTransfer.effectAllowed = "move";
  });
  document.addEventListener("dragover", (event) => {
    if (dragged && event.target.closest("[data-contact-sheet] li[data-place]")) event.preventDefault();
  });
  document.addEventListener("drop", (event) => {
    const onto = event.target.closest("[data-contact-sheet] li[data-place]");
    if (!dragged || !onto) return;
    event.preventDefault();
    const values = { act: "stand", frame: dragged.dataset.frame, place: onto.dataset.place, seen: desk().dataset.seen };
    window.htmx.ajax("POST", desk().dataset.moveUrl, { source: desk(), target: "#card-desk", swap: "outerHTML", values });
    dragged = null;
  });

  // After a move the sheet is a new one: the focus goes back to the frame that is chosen now.
  let onSheet = false;
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target?.id === "card-desk") onSheet = Boolean(document.activeElement?.closest?.("[data-contact-sheet], #card-panel"));
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.detail.target?.id !== "card-desk" && event.target.id !== "card-desk") return;
    follow();
    if (onSheet) current()?.focus({ preventScroll: false });
  });
  document.addEventListener("card:arrived", () => {
    if (!isTyping()) refresh();
  });
  setInterval(look, LOOK_MS);
  if (desk()) follow();
})();
