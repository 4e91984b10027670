"use strict";
// A square's page: arrow keys lead to the next square along the row and the column, as the buttons
// do. Only while the pictures are in sight and nothing is being typed: else they scroll the page.
(() => {
  const TYPING = "input, select, textarea, [contenteditable], [role=application], details";

  function inSight() {
    const box = document.getElementById("panes")?.getBoundingClientRect();
    return box !== undefined && box.bottom > innerHeight / 4 && box.top < innerHeight;
  }

  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    if (event.target.closest?.(TYPING)) return;
    const way = document.querySelector(`a[data-key="${CSS.escape(event.key)}"]`);
    if (!way || !inSight()) return;
    event.preventDefault();
    location.assign(way.href);
  });
})();
