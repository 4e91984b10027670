"use strict";
// Choosing a block on the plan: two taps are its opposite corners; further pairs add further
// blocks. They are written as labels into the page's squares fields, where they may also be typed.
//
//   <div class="plan" …> (see plan.js) and one or more <input data-block>; <button data-block-clear>
(() => {
  const plan = document.querySelector(".plan");
  const fields = document.querySelectorAll("input[data-block]");
  const svg = plan?.querySelector("svg");
  if (!svg || !fields.length) return;
  const marks = svg.insertBefore(document.createElementNS(svg.namespaceURI, "g"), svg.querySelector("[data-chosen]"));
  const side = Number(svg.dataset.side || 20);
  let written = fields[0].value.trim();
  let corner = null;

  function mark(one, other) {
    const box = document.createElementNS(svg.namespaceURI, "rect");
    box.setAttribute("class", "q-block");
    box.setAttribute("x", Math.min(one.x, other.x));
    box.setAttribute("y", Math.min(one.y, other.y));
    box.setAttribute("width", Math.abs(one.x - other.x) + side);
    box.setAttribute("height", Math.abs(one.y - other.y) + side);
    marks.append(box);
  }

  function write(text) {
    for (const field of fields) field.value = text;
  }

  plan.addEventListener("plan:opened", ({ detail: square }) => {
    const before = written ? `${written}, ` : "";
    if (corner) {
      marks.lastElementChild.remove();
      mark(corner, square);
      written = before + (corner === square ? square.name : `${corner.name}–${square.name}`);
      corner = null;
      write(written);
    } else {
      corner = square;
      mark(square, square);
      write(before + square.name);
    }
  });

  function startAgain(text) {
    written = text.trim();
    corner = null;
    marks.replaceChildren();
    write(text);
  }

  for (const field of fields) field.addEventListener("input", () => startAgain(field.value));
  document.querySelector("[data-block-clear]")?.addEventListener("click", () => startAgain(""));
})();
