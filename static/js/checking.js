"use strict";
// The lead's check by keys, only while the focus is on the pictures: A accepts, B opens the reasons for
// sending it back, N leaves it for later, 1 to 5 choose how strongly the photograph shows.
(() => {
  const pictures = document.querySelector("[data-check]");
  if (!pictures) return;
  const form = pictures.closest("form");

  function act(key) {
    const strength = form.querySelectorAll("[name=under]")[Number(key) - 1];
    if (strength) {
      strength.checked = true;
      return true;
    }
    const part = form.querySelector(`[data-key="${CSS.escape(key)}"]`);
    if (part?.tagName !== "DETAILS") {
      part?.click();
      return Boolean(part);
    }
    part.open = true;
    part.querySelector(".reasons button").focus();
    return true;
  }

  // Nobody accepts what has not been seen: windows.js takes the mark off before it asks for the picture.
  const drawing = form.querySelector(".check-stack .picture > img:last-of-type");
  drawing?.addEventListener("load", () => {
    if ("drawing" in drawing.dataset) return;
    for (const button of form.querySelectorAll("[data-unseen]")) button.disabled = false;
    form.querySelector("[data-unseen-words]")?.remove();
  });

  pictures.addEventListener("keydown", (event) => {
    if (event.target !== pictures || event.altKey || event.ctrlKey || event.metaKey || event.repeat) return;
    if (act(event.key.toLowerCase())) event.preventDefault();
  });
  form.addEventListener("keydown", (event) => {
    const open = event.target.closest("details[open]");
    if (event.key !== "Escape" || !open) return;
    open.open = false;
    pictures.focus({ preventScroll: true });
  });
  if (!document.getElementById("errors")) {
    pictures.focus({ preventScroll: true });
    scrollTo(0, 0); // what became of the last one stands above
  }
})();
