"use strict";
// The slate of a dive: chosen or taken with the tablet's camera, it is sent at once, and again until
// the laptop answers.
(() => {
  const words = window.shedWords;

  async function send(form, file) {
    const told = form.querySelector("[data-told]");
    told.textContent = words("slate_sending");
    const outcome = await window.shedSend({
      url: form.action,
      file,
      name: file.name,
      onWait: (seconds) => {
        told.textContent = words("slate_waits", { seconds });
      },
    });
    if (outcome.taken) {
      location.hash = "slates";
      location.reload();
    } else told.textContent = outcome.words;
  }

  document.addEventListener("change", (event) => {
    const field = event.target.closest("[data-slate-file]");
    if (!field?.files.length) return;
    send(field.form, field.files[0]);
    field.value = "";
  });
})();
