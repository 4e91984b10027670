"use strict";
// The team of a dive: a tap on initials brings the diver's row, another takes it out. The last team,
// and a diver's gas and cylinders of an earlier dive, are offered and never filled in by themselves.
(() => {
  const group = (form) => form.querySelector("[data-rows='members']");
  const rows = (form) => [...group(form).querySelectorAll(":scope > [data-row]")];
  const diverOf = (row) => row.querySelector("select[name$='-diver']");
  const named = (row, name) => row.querySelector(`[name$="-${name}"]`);

  function give(field, value) {
    if (!field || field.value === value) return;
    field.value = value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function rowOf(form, diver) {
    return rows(form).find((row) => !row.hidden && diverOf(row).value === diver);
  }

  function putBack(form, diver) {
    const gone = rows(form).find((row) => row.hidden && diverOf(row).value === diver);
    gone?.nextElementSibling?.querySelector("[data-row-back]")?.click();
    return gone;
  }

  function freeRow(form) {
    const free = rows(form).find((row) => !row.hidden && !diverOf(row).value);
    if (free) return free;
    window.shedRows.ensure(form, "members", rows(form).length + 1);
    return rows(form).at(-1);
  }

  function bring(form, diver) {
    const row = rowOf(form, diver) || putBack(form, diver) || freeRow(form);
    row.classList.remove("spare");
    give(diverOf(row), diver);
    return row;
  }

  function takeKit(form, row, kit) {
    for (const name of ["gas", "oxygen_percent", "apparatus"]) give(named(row, name), kit[name] || "");
    const bottles = row.querySelector("[data-rows$='-cylinders']");
    window.shedRows.ensure(form, bottles.dataset.rows, (kit.cylinders || []).length);
    const every = bottles.querySelectorAll(":scope > [data-row]");
    (kit.cylinders || []).forEach((size, index) => {
      every[index].classList.remove("spare");
      give(named(every[index], "size_l"), size);
    });
  }

  // What stands on the page follows from the fields, whoever filled them: a tap, a draft, the server.
  function show(form) {
    if (!group(form)) return;
    const team = rows(form).filter((row) => !row.hidden && diverOf(row).value);
    const divers = new Set(team.map((row) => diverOf(row).value));
    for (const chip of form.querySelectorAll("[data-diver]")) {
      chip.setAttribute("aria-pressed", String(divers.has(chip.dataset.diver)));
    }
    for (const row of team) {
      row.classList.remove("spare");
      showKit(form, row);
    }
    for (const spare of form.querySelectorAll(".spare")) {
      if ([...spare.querySelectorAll("input:not([type=hidden], [type=checkbox], [type=radio]), textarea")].some((field) => field.value)) {
        spare.classList.remove("spare");
      }
    }
    const offer = form.querySelector("[data-team-offer]");
    if (offer) offer.hidden = divers.size > 0;
  }

  function showKit(form, row) {
    const chip = form.querySelector(`[data-diver="${diverOf(row).value}"]`);
    const offer = row.querySelector("[data-kit-offer]");
    const untouched = !named(row, "gas").value && !named(row, "size_l").value;
    offer.hidden = !(chip?.dataset.kit && untouched);
    if (!offer.hidden) offer.querySelector("button").textContent = chip.dataset.kitWords;
  }

  document.addEventListener("click", (event) => {
    const form = event.target.closest("form");
    if (!form || !group(form)) return;
    const chip = event.target.closest("[data-diver]");
    const team = event.target.closest("[data-team]");
    const kit = event.target.closest("[data-take-kit]");
    if (chip) {
      const row = rowOf(form, chip.dataset.diver);
      if (row) row.querySelector("[data-row-remove]").click();
      else bring(form, chip.dataset.diver);
    } else if (team) {
      event.preventDefault();
      for (const member of JSON.parse(team.dataset.team)) {
        const row = bring(form, member.diver);
        give(named(row, "role"), member.role);
        takeKit(form, row, member.kit);
      }
    } else if (kit) {
      const row = kit.closest("[data-row]");
      takeKit(form, row, JSON.parse(form.querySelector(`[data-diver="${diverOf(row).value}"]`).dataset.kit));
    }
    show(form);
  });
  document.addEventListener("change", (event) => event.target.form && show(event.target.form));
  document.addEventListener("draft:restored", (event) => show(event.target));
  const all = () => document.querySelectorAll("form").forEach(show);
  document.addEventListener("page:shown", all);
  all();
})();
