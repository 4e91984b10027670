"use strict";
// Once a picture of a square is zoomed, a finer one of the same window is asked for and put in its place
// when it is there: the page itself loads what a tablet can show at once.
(() => {
  const FROM_ZOOM = 1.8;
  const EVERY_MS = 2000;

  function start(desk) {
    const asked = new Set();

    // Whether it is drawn; null where it is not to be had.
    async function isDrawn(address) {
      const answer = await fetch(address, { headers: { Accept: "application/json" } });
      return answer.ok && !answer.redirected ? (await answer.json()).drawn : null;
    }

    async function bring(pane) {
      const address = pane.picture.dataset.fine;
      try {
        let drawn = await isDrawn(address);
        if (drawn === false) await fetch(address, { headers: { Accept: "image/webp" } }); // has it drawn
        while (drawn === false) {
          await new Promise((go) => setTimeout(go, EVERY_MS));
          drawn = await isDrawn(address);
        }
        if (drawn === null) return;
        const fine = new Image();
        fine.src = `${address}?drawn`;
        await fine.decode();
        pane.image.src = fine.src;
      } catch {
        asked.delete(pane); // the connection is away; the next zoom will do
      }
    }

    desk.root.addEventListener("desk:settled", () => {
      if (desk.view.zoom < FROM_ZOOM) return;
      for (const pane of desk.panes) {
        if (asked.has(pane) || !pane.picture.dataset.fine || !pane.image || "drawing" in pane.image.dataset) continue;
        asked.add(pane);
        bring(pane);
      }
    });
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
