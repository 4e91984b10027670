"use strict";
// What one works on is seen whole: once another arrangement or a tool is chosen, or a feature is to be picked
// on the other picture, the page moves as far as that takes. Where all is in sight it stays.
(() => {
  const ROOM_PX = 8;

  function start(desk) {
    const { root } = desk;

    const isShown = (one) => one.getClientRects().length > 0;
    const topOf = (one) => one.getBoundingClientRect().top;
    const isStuck = (one) => /fixed|sticky/.test(getComputedStyle(one).position); // to the window's lower edge

    function bring(panes) {
      const boxes = panes.map(({ picture }) => picture.getBoundingClientRect()).filter((box) => box.height > 0);
      if (!boxes.length) return;
      const [top, bottom] = [Math.min(...boxes.map((box) => box.top)), Math.max(...boxes.map((box) => box.bottom))];
      const bars = [...document.querySelectorAll(".places, .desk-tool")].filter(isShown);
      const end = Math.min(innerHeight, ...bars.filter(isStuck).map(topOf));
      if (top >= 0 && bottom <= end) return;
      // With the buttons above where there is room, else with what the tool says.
      const heads = [root, ...root.querySelectorAll(".desk-tool")].filter((one) => isShown(one) && !isStuck(one));
      scrollBy(0, (heads.map(topOf).find((head) => bottom - head + ROOM_PX <= end) ?? top) - ROOM_PX);
    }

    root.addEventListener("desk:arranged", () => bring(desk.panes));
    root.addEventListener("desk:took", () => desk.tool && bring(desk.panes));
    root.addEventListener("desk:turn", ({ detail }) => {
      if (desk.panes.every(({ picture }) => picture.getClientRects().length)) bring(desk.panes.filter((one) => one.name === detail));
    });
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
