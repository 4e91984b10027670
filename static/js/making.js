// Pictures that are still being made: asks for all of a page at once, and shows each when it is there.
(() => {
  "use strict";
  const EVERY_MS = 2000;
  const AT_ONCE = 100;
  let waiting = 0;

  const inSight = (picture) => {
    const box = picture.getBoundingClientRect();
    return box.bottom > -innerHeight && box.top < 2 * innerHeight;
  };

  const unmade = () => [...document.querySelectorAll("img[data-making]")];

  async function look() {
    waiting = 0;
    const wanted = unmade().filter(inSight).slice(0, AT_ONCE);
    if (wanted.length > 0 && !document.hidden) {
      const asked = new URLSearchParams(wanted.map((picture) => ["id", picture.dataset.making]));
      try {
        const answer = await fetch(`${wanted[0].dataset.madeUrl}?${asked}`);
        if (answer.ok && !answer.redirected) show(wanted, (await answer.json()).made);
      } catch {
        // The connection is away; the next look will do.
      }
    }
    wait();
  }

  function show(wanted, made) {
    for (const picture of wanted.filter((one) => made.includes(one.dataset.making))) {
      delete picture.dataset.making;
      picture.src = `${picture.src.split("?")[0]}?made`;
    }
  }

  function wait() {
    if (waiting === 0 && unmade().length > 0) waiting = setTimeout(look, EVERY_MS);
  }

  addEventListener("DOMContentLoaded", wait);
  addEventListener("htmx:load", wait);
})();
