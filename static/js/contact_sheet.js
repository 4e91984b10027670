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
  let onSheet = false; // between the swap of the sheet that has the focus and its end

  function follow() {
    const place = current()?.closest("li").dataset.place;
    for (const mark of desk().querySelectorAll("[data-foot], g[data-place]")) {
      mark.classList.toggle("chosen", place !== undefined && (mark.dataset.foot ?? mark.dataset.place) === place);
    }
  }

  // A second tap on the frame that is shown must not close what was opened for it.
  const isShown = (frame) => frame === current() && panel()?.querySelector("[data-shows]")?.dataset.shows === frame.dataset.frame;

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
    const { url, chosen, state } = desk()?.dataset || {};
    if (!url || document.hidden || isTyping() || busy()) return;
    try {
      const answer = await fetch(`${url}?at=${chosen}&unless=${encodeURIComponent(state)}`, { headers: { "HX-Target": "card-desk", "HX-Request": "true" } });
      if (answer.status === 200 && !answer.redirected && !isTyping()) refresh();
    } catch {
      // The connection is away; the next look will do.
    }
  }

  // Keys --------------------------------------------------------------------------------------------

  // Busy: a move is on its way. Late: or the panel does not show the chosen frame yet.
  const busy = () => onSheet || Boolean(desk()?.querySelector("form.htmx-request"));
  const isLate = () => busy() || Boolean(current() && !isShown(current()));

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

  // While a move is under way the sheet, and with it the focus, is drawn anew.
  const isOnSheet = ({ target }) => target.closest?.("[data-contact-sheet]") || (busy() && !target.matches?.("[type=text], select"));

  // A quick hand presses the next key before the answer is here: the last one is kept for it.
  let kept = null;

  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || !isOnSheet(event)) return;
    const name = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const act = keys[name];
    if (!act) return;
    event.preventDefault();
    const mustWait = name.startsWith("Arrow") ? busy() : isLate();
    kept = mustWait ? act : null;
    if (!mustWait) act();
  });

  function actOnKept() {
    if (!kept || isLate()) return;
    const act = kept;
    kept = null;
    act();
  }
  const forget = () => {
    kept = null;
    onSheet = false;
  };
  for (const failure of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) document.addEventListener(failure, forget);

  // With Tab, too, the frame that has the focus is the one that is acted on.
  document.addEventListener("focusin", (event) => choose(event.target.closest?.("a[data-frame]")));

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
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target?.id === "card-desk") onSheet = Boolean(document.activeElement?.closest?.("[data-contact-sheet], #card-panel"));
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.detail.target?.id !== "card-desk" && event.target.id !== "card-desk") return;
    follow();
    if (onSheet) current()?.focus({ preventScroll: false });
    onSheet = false;
    actOnKept();
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.target.id === "card-panel") actOnKept();
  });
  document.addEventListener("card:arrived", () => {
    if (!isTyping()) refresh();
  });
  setInterval(look, LOOK_MS);
  if (desk()) follow();
})();
