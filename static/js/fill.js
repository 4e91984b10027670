"use strict";
// An offer: fills what is still empty with earlier values, seen before they are taken. Without script
// the offer is a link to the same form with these values in it.
//
//   <a href="?…" data-fill='{"vessel": "…", "supervisors": [{"name": "…"}]}'>    inside the form
(() => {
  function give(field, value) {
    if (!field || field.value.trim() || value === null || value === "") return;
    field.value = value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function isBlank(row) {
    const typed = "input:not([type=hidden], [type=checkbox]), select, textarea";
    return [...row.querySelectorAll(typed)].every((field) => !field.value.trim());
  }

  function giveRows(form, prefix, rows) {
    const group = form.querySelector(`[data-rows="${CSS.escape(prefix)}"]`);
    const standing = [...group.querySelectorAll(":scope > [data-row]")];
    if (!standing.every(isBlank)) return;
    window.shedRows.ensure(form, prefix, rows.length);
    const all = group.querySelectorAll(":scope > [data-row]");
    rows.forEach((values, index) => {
      all[index].classList.remove("spare");
      for (const [name, value] of Object.entries(values)) give(all[index].querySelector(`[name$="-${name}"]`), value);
    });
  }

  document.addEventListener("click", (event) => {
    const offer = event.target.closest("[data-fill]");
    const form = offer?.closest("form");
    if (!form) return;
    event.preventDefault();
    for (const [name, value] of Object.entries(JSON.parse(offer.dataset.fill))) {
      if (Array.isArray(value)) giveRows(form, name, value);
      else give(form.elements[name], value);
    }
    offer.setAttribute("aria-disabled", "true");
  });
})();
