"use strict";
// How drawing and photographs are laid: side by side, the drawing over the photographs as strongly as
// wanted, a wipe between them, or a blink from one to the other. A blink changes the picture every 0.8 s
// (well under three flashes a second) until it is stopped; for those who asked for less motion it does not
// run by itself, and "Show the other" changes it by hand.
(() => {
  const BLINK_MS = 800;

  function start(desk) {
    const { root } = desk;
    const buttons = [...root.querySelectorAll("[data-arrange]")];
    const [drawing, photographs] = ["drawing", "photographs"].map((name) => desk.panes.find((pane) => pane.name === name));
    if (!drawing?.image || !photographs?.image) return;
    const part = (name) => root.querySelector(`[data-${name}]`);
    const [share, range, seam] = [part("share"), part("share").querySelector("input"), document.createElement("div")];
    const home = drawing.image.nextSibling;
    const sheet = document.createElement("div");
    sheet.className = "desk-sheet";
    seam.className = "desk-seam";
    seam.dataset.grip = "";
    const shares = { over: 50, wipe: 50 };
    const calm = matchMedia("(prefers-reduced-motion: reduce)");
    let [arranged, beat] = ["beside", 0];

    function arrange(wanted) {
      arranged = wanted;
      stop();
      const isOne = arranged !== "beside";
      root.classList.toggle("as-one", isOne);
      if (isOne) {
        sheet.append(drawing.image);
        photographs.svg.before(sheet);
      } else {
        drawing.picture.insertBefore(drawing.image, home);
        sheet.remove();
      }
      if (arranged === "wipe") photographs.picture.append(seam);
      else seam.remove();
      for (const button of buttons) button.setAttribute("aria-pressed", String(button.dataset.arrange === arranged));
      share.hidden = !(arranged in shares);
      part("blink").hidden = arranged !== "blink";
      if (arranged in shares) {
        range.value = shares[arranged];
        for (const label of share.querySelectorAll("[data-of]")) label.hidden = label.dataset.of !== arranged;
        range.setAttribute("aria-label", share.querySelector(`[data-of="${arranged}"]`).textContent);
      }
      show();
      if (arranged === "blink" && !calm.matches) run();
      root.dispatchEvent(new CustomEvent("desk:arranged"));
    }

    function show() {
      const percent = Number(range.value);
      if (arranged in shares) shares[arranged] = percent;
      sheet.style.opacity = arranged === "over" ? percent / 100 : 1;
      sheet.style.clipPath = arranged === "wipe" ? `inset(0 ${100 - percent}% 0 0)` : "none";
      sheet.style.visibility = "visible";
      seam.style.left = `${percent}%`;
    }

    function other() {
      const isSeen = sheet.style.visibility !== "hidden";
      sheet.style.visibility = isSeen ? "hidden" : "visible";
      if (!beat) desk.say(window.shedWords(isSeen ? "desk_photographs" : "desk_drawing"));
    }

    function run() {
      beat = setInterval(other, BLINK_MS);
      told();
    }
    function stop() {
      clearInterval(beat);
      beat = 0;
      told();
    }
    function told() {
      for (const words of part("blink-run").querySelectorAll("[data-while]")) words.hidden = words.dataset.while !== (beat ? "on" : "off");
    }

    function set(percent) {
      range.value = Math.min(Math.max(percent, 0), 100);
      show();
    }

    for (const button of buttons) button.addEventListener("click", () => arrange(button.dataset.arrange));
    range.addEventListener("input", show);
    for (const button of share.querySelectorAll("[data-share-by]")) {
      button.addEventListener("click", () => set(Number(range.value) + Number(button.dataset.shareBy)));
    }
    part("blink-run").addEventListener("click", () => (beat ? stop() : run()));
    part("blink-other").addEventListener("click", () => {
      if (beat) stop();
      other();
    });
    seam.addEventListener("pointerdown", (event) => {
      seam.setPointerCapture(event.pointerId);
      event.preventDefault();
    });
    seam.addEventListener("pointermove", (event) => {
      if (!seam.hasPointerCapture(event.pointerId)) return;
      const box = photographs.picture.getBoundingClientRect();
      set(((event.clientX - box.left) / box.width) * 100);
    });
    root.querySelector("[data-arrangements]").hidden = false;
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
