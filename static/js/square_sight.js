"use strict";
// What one works on is seen whole: once another arrangement or a tool is chosen, or a feature is to be picked
// on the other picture, the page moves as far as that takes. Where all is in sight it stays.
(() => {
  const ROOM_PX = 8;

  function start(desk) {
    const { root } = desk;

    // Bars that stay at the window's lower edge.
    function floor() {
      const bars = [...document.querySelectorAll(".places, .desk-tool")].filter((one) => /fixed|sticky/.test(getComputedStyle(one).position));
      return Math.min(innerHeight, ...bars.filter((one) => one.getClientRects().length).map((one) => one.getBoundingClientRect().top));
    }

    function bring(panes) {
      const boxes = panes.map(({ picture }) => picture.getBoundingClientRect()).filter((box) => box.height > 0);
      if (!boxes.length) return;
      const [top, bottom] = [Math.min(...boxes.map((box) => box.top)), Math.max(...boxes.map((box) => box.bottom))];
      const [head, end] = [root.getBoundingClientRect().top, floor()];
      if (top >= 0 && bottom <= end) return;
      scrollBy(0, (bottom - head + ROOM_PX <= end ? head : top) - ROOM_PX); // with the buttons where there is room
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
