"use strict";
// The field one is in is never hidden by the save bar: browsers bring only a text area's caret into
// sight, and the bar grows when it says something.
(() => {
  const root = document.documentElement;
  const bar = () => document.querySelector(".save-bar");

  function measure() {
    const height = bar()?.offsetHeight;
    if (height) root.style.setProperty("--save-height", `${height}px`);
    else root.style.removeProperty("--save-height");
  }

  // A page that moves under a finger loses the tap.
  let pressed = false;
  document.addEventListener("pointerdown", () => { pressed = true; }, true);
  for (const end of ["pointerup", "pointercancel"]) {
    document.addEventListener(end, () => setTimeout(() => { pressed = false; }), true);
  }

  document.addEventListener("focusin", (event) => {
    if (pressed || !bar() || event.target.closest(".save-bar, .places, .skip")) return;
    measure();
    event.target.scrollIntoView({ block: "nearest" });
  });
})();
