"use strict";
// A check as you leave a field, in words beside it. The server checks everything again on saving;
// a field with data-check-url asks it early (GET with the field's value, answered in plain text,
// empty when all is well).
(() => {
  const words = window.shedWords;

  function number(field) {
    let text = field.value.trim().replace("\u2212", "-").replace(",", ".");
    const unit = field.dataset.unit;
    if (unit && text.endsWith(unit)) text = text.slice(0, -unit.length).trim();
    return /^-?(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : NaN;
  }

  function fault(field) {
    const value = field.value.trim();
    if (!value) return "";
    if ("clock" in field.dataset) {
      const typed = /^(\d{1,2})\s*[:.h]?\s*(\d{2})(\s*[:.]\s*\d{2})?$/.exec(value);
      return typed && Number(typed[1]) < 24 && Number(typed[2]) < 60 ? "" : words("clock");
    }
    if ("number" in field.dataset) {
      const given = number(field);
      if (Number.isNaN(given)) return words("number");
      const { min, max } = field.dataset;
      if (min !== undefined && given < Number(min)) return words("at_least", { limit: min });
      if (max !== undefined && given > Number(max)) return words("at_most", { limit: max });
      return "";
    }
    return field.checkValidity() ? "" : field.validationMessage;
  }

  function tidy(field) {
    const typed = /^(\d{1,2})\s*[:.h]?\s*(\d{2})$/.exec(field.value.trim());
    if ("clock" in field.dataset && typed) field.value = `${typed[1].padStart(2, "0")}:${typed[2]}`;
  }

  function say(field, text, wrong) {
    const holder = field.closest(".field");
    if (!holder) return;
    const id = `${field.id || field.name}_hint`;
    let hint = document.getElementById(id);
    if (!text && !hint) return;
    if (!hint) {
      hint = document.createElement("p");
      hint.className = "field-hint";
      hint.id = id;
      hint.setAttribute("role", "status");
      holder.append(hint);
      const described = (field.getAttribute("aria-describedby") || "").split(" ").filter(Boolean);
      field.setAttribute("aria-describedby", [...described, id].join(" "));
    }
    hint.textContent = text;
    if (wrong) field.setAttribute("aria-invalid", "true");
    else if (!document.getElementById(`${field.id}_error`)) field.removeAttribute("aria-invalid");
  }

  async function ask(field) {
    const url = new URL(field.dataset.checkUrl, location.href);
    url.searchParams.set(field.name, field.value);
    try {
      const answer = await fetch(url, { credentials: "same-origin" });
      const doubtful = answer.headers.get("X-Told") === "doubt";
      if (answer.ok) say(field, (await answer.text()).trim(), doubtful);
    } catch {
      // Without a connection the check waits for saving.
    }
  }

  function check(field) {
    const wrong = fault(field);
    say(field, wrong, Boolean(wrong));
    if (wrong) return;
    tidy(field);
    if (field.dataset.checkUrl && field.value.trim()) ask(field);
  }

  // Words that appear under a finger would move the button it is about to press: they wait for it.
  let pressed = false;
  const left = [];
  document.addEventListener("pointerdown", () => { pressed = true; }, true);
  for (const end of ["pointerup", "pointercancel"]) {
    document.addEventListener(end, () => setTimeout(() => {
      pressed = false;
      left.splice(0).forEach(check);
    }), true);
  }

  document.addEventListener("focusout", (event) => {
    const field = event.target;
    if (!field.matches?.(".field input:not([type=hidden]), .field select, .field textarea")) return;
    if (pressed) left.push(field);
    else check(field);
  });

  // A link of the error summary leads to the field itself, radio buttons included.
  document.addEventListener("click", (event) => {
    const link = event.target.closest(".error-block a[href^='#']");
    if (!link) return;
    const place = document.getElementById(link.getAttribute("href").slice(1));
    const field = place?.matches("input, select, textarea") ? place : place?.querySelector("input, select, textarea");
    if (!field) return;
    event.preventDefault();
    for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    field.focus();
    field.scrollIntoView({ block: "center" });
  });

  document.querySelector("#errors, #questions")?.focus();
})();
