"use strict";
// Squares offered beside a field: a tap writes a label into it, another takes it out again. Without
// script each is a link to the same form with that label in it.
//
//   <ul data-labels="squares"><li><a href="?…" data-label="K7">    inside the form
(() => {
  const ofForm = (list) => list.closest("form").elements;
  const apart = /[,;\s]+/;
  const plain = (text) => ` ${text.trim().split(apart).join(" ")} `;

  function mark() {
    for (const list of document.querySelectorAll("[data-labels]")) {
      const text = plain(ofForm(list)[list.dataset.labels].value);
      for (const offer of list.querySelectorAll("[data-label]")) {
        if (text.includes(plain(offer.dataset.label))) offer.setAttribute("aria-current", "true");
        else offer.removeAttribute("aria-current");
      }
    }
  }

  function tap(offer, list) {
    const field = ofForm(list)[list.dataset.labels];
    const text = plain(field.value);
    const label = plain(offer.dataset.label);
    const isOut = text.includes(label);
    field.value = (isOut ? text.replace(label, " ") : text + label).trim().split(apart).join(" ");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  document.addEventListener("click", (event) => {
    const offer = event.target.closest("[data-label]");
    if (!offer) return;
    event.preventDefault();
    tap(offer, offer.closest("[data-labels]"));
  });
  document.addEventListener("input", mark);
  document.addEventListener("htmx:afterSwap", mark);
  mark();
})();
