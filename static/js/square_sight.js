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
      const bars = [...document.querySelectorAll(".places, .desk-foot, .desk-tool")].filter(isShown);
      const end = Math.min(innerHeight, ...bars.filter(isStuck).map(topOf));
      if (top >= 0 && bottom <= end) return;
      const head = topOf(root); // with the buttons above where there is room
      scrollBy(0, (bottom - head + ROOM_PX <= end ? head : top) - ROOM_PX);
    }

    // Of two pictures one below the other, the one wanted comes to where the one tapped is: what lies at one
    // place of both lies at one place of the window.
    function turn(wanted, tapped = wanted) {
      const [to, from] = [wanted, tapped].map(({ picture }) => topOf(picture));
      if (Math.abs(to - from) > ROOM_PX) scrollBy(0, to - from);
      else bring([wanted]);
    }

    root.addEventListener("desk:arranged", () => bring(desk.panes));
    root.addEventListener("desk:took", () => desk.tool && bring(desk.panes));
    root.addEventListener("desk:turn", ({ detail: { wanted, tapped } }) => {
      if (!desk.panes.every(({ picture }) => isShown(picture))) return;
      turn(...[wanted, tapped].map((name) => desk.panes.find((one) => one.name === name)));
    });
  }

  const desk = window.squareDesk();
  if (desk) start(desk);
})();
