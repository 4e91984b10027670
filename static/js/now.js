"use strict";
// "Now" buttons: fill a field with the time in the season's zone, by the clock of the machine that
// serves the page, so that all tablets of a shed agree. The field stays editable.
(() => {
  const body = document.body;
  const fresh = performance.getEntriesByType("navigation")[0]?.type !== "back_forward";
  const servedAt = Number(body.dataset.servedAt) * 1000;
  const difference = servedAt - Date.now();
  const skew = fresh && Number.isFinite(difference) && Math.abs(difference) > 60000 ? difference : 0;

  function zoneMinutes() {
    const told = /^([+-])(\d\d)(\d\d)$/.exec(body.dataset.zoneOffset || "");
    if (!told) return -new Date().getTimezoneOffset();
    const minutes = Number(told[2]) * 60 + Number(told[3]);
    return told[1] === "-" ? -minutes : minutes;
  }

  function clock() {
    const there = new Date(Date.now() + skew + zoneMinutes() * 60000);
    return there.toISOString().slice(11, 16);
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-now]");
    if (!button) return;
    const field = document.getElementById(button.dataset.now);
    if (!field) return;
    field.value = clock();
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
    field.focus();
  });
})();
