"use strict";
// Rows of a form (team members, cylinders, squares) are added from a <template> and taken out again.
//
//   <div data-rows="members"> … <div class="row" data-row> … </div> … <template data-row-template>
//   <button type="button" data-row-add="members">          anywhere in the same form
//   <button type="button" data-row-remove>                 inside a row
//
// Names in the template carry __prefix__; rows within rows keep one __prefix__ each. A row taken out
// is ticked DELETE and stays in the form, so the server knows, and "put it back" works.
(() => {
  const words = window.shedWords;

  function total(group) {
    return group.closest("form").elements[`${group.dataset.rows}-TOTAL_FORMS`];
  }

  function numbered(fragment, number) {
    for (const element of fragment.querySelectorAll("*")) {
      for (const attribute of element.attributes) {
        if (attribute.value.includes("__prefix__")) {
          attribute.value = attribute.value
            .split(" ")
            .map((word) => word.replace("__prefix__", number))
            .join(" ");
        }
      }
      if (element.content) numbered(element.content, number);
    }
    return fragment;
  }

  // Version 4, for rows only: crypto.randomUUID is missing on plain HTTP.
  function newKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
  }

  function add(group) {
    const count = total(group);
    const template = group.querySelector(":scope > template[data-row-template]");
    if (!count || !template) return null;
    const fragment = numbered(template.content.cloneNode(true), count.value);
    const row = fragment.querySelector("[data-row]");
    for (const key of fragment.querySelectorAll("input[data-record-id]")) key.value = newKey();
    template.before(fragment);
    count.value = Number(count.value) + 1;
    window.htmx?.process(row);
    row.dispatchEvent(new CustomEvent("row:added", { bubbles: true }));
    return row;
  }

  function deletion(row) {
    const boxes = row.querySelectorAll('input[name$="-DELETE"]');
    return [...boxes].find((box) => box.closest("[data-row]") === row);
  }

  function hide(row) {
    row.hidden = true;
    if (row.nextElementSibling?.classList.contains("row-gone")) return;
    const note = document.createElement("div");
    note.className = "row-gone";
    const said = document.createElement("span");
    said.textContent = words("row_gone");
    const back = document.createElement("button");
    back.type = "button";
    back.dataset.rowBack = "";
    back.textContent = words("row_back");
    note.append(said, back);
    row.after(note);
    return back;
  }

  function settle(root) {
    for (const row of root.querySelectorAll("[data-row]")) {
      const gone = deletion(row)?.checked;
      if (gone) hide(row);
      else if (row.hidden) show(row);
    }
  }

  function show(row) {
    row.hidden = false;
    if (row.nextElementSibling?.classList.contains("row-gone")) row.nextElementSibling.remove();
  }

  function told(element) {
    element.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function firstField(row) {
    return row.querySelector("input:not([type=hidden]):not([name$='-DELETE']), select, textarea");
  }

  document.addEventListener("click", (event) => {
    const adder = event.target.closest("[data-row-add]");
    if (adder) {
      const form = adder.closest("form");
      const group = form.querySelector(`[data-rows="${CSS.escape(adder.dataset.rowAdd)}"]`);
      const row = group && add(group);
      if (!row) return;
      event.preventDefault();
      firstField(row)?.focus();
      told(row);
      return;
    }
    const remover = event.target.closest("[data-row-remove]");
    if (remover) {
      const row = remover.closest("[data-row]");
      const box = deletion(row);
      if (!box) return;
      event.preventDefault();
      box.checked = true;
      hide(row)?.focus();
      told(box);
      return;
    }
    const back = event.target.closest("[data-row-back]");
    if (back) {
      const row = back.closest(".row-gone").previousElementSibling;
      const box = deletion(row);
      box.checked = false;
      show(row);
      firstField(row)?.focus();
      told(box);
    }
  });

  // For drafts.js: as many rows as the draft had, outer groups first.
  window.shedRows = {
    ensure(form, prefix, wanted) {
      const group = form.querySelector(`[data-rows="${CSS.escape(prefix)}"]`);
      if (!group) return;
      const count = total(group);
      while (Number(count.value) < wanted && add(group));
    },
    settle,
  };

  settle(document);
})();
