// Windows of a grid that are still being drawn: each is asked for again until it is there.
(() => {
  "use strict";
  const EVERY_MS = 1500;
  let waiting = 0;

  async function look() {
    waiting = 0;
    if (!document.hidden) await Promise.all([...document.querySelectorAll("img[data-drawing]")].map(ask));
    wait();
  }

  async function ask(picture) {
    try {
      const address = picture.src.split("?")[0];
      const answer = await fetch(address, { headers: { Accept: "application/json" } });
      if (!answer.ok || answer.redirected || !(await answer.json()).drawn) return;
      delete picture.dataset.drawing;
      picture.src = `${address}?drawn`;
    } catch {
      // The connection is away; the next look will do.
    }
  }

  function wait() {
    if (waiting === 0 && document.querySelector("img[data-drawing]")) waiting = setTimeout(look, EVERY_MS);
  }

  addEventListener("DOMContentLoaded", wait);
  addEventListener("htmx:load", wait);
  addEventListener("page:shown", wait);
})();
