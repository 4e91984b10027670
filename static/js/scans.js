"use strict";
// A pile of scans, chosen or dropped, goes up one by one, each again until the laptop answers.
(() => {
  function start(root) {
    const input = root.querySelector("input[type=file]");
    const part = (name) => root.querySelector(`[data-${name}]`);
    const bar = part("sending").querySelector("progress");
    part("by-form").hidden = true;

    function words(name, values = {}) {
      const text = part("words").content.querySelector(`[data-word="${name}"]`).textContent;
      return text.replace(/\{(\w+)\}/g, (whole, key) => (key in values ? values[key] : whole));
    }

    function remark(...said) {
      const line = document.createElement("li");
      line.append(...said);
      part("refused").append(line);
      part("refused").hidden = false;
    }

    // None of these was taken in, and the page stays to say which.
    function signedOut(files) {
      const names = files.map((file) => file.name).join(", ");
      const door = window.shedSignedOut().querySelector("a");
      remark(words(files.length > 1 ? "not_taken" : "one_not_taken", { n: files.length, names }), " ", door);
    }

    async function send(files) {
      part("sending").hidden = false;
      let isSignedOut = false;
      for (const [at, file] of files.entries()) {
        bar.value = at / files.length;
        part("said").textContent = words("sending", { name: file.name, n: at + 1, all: files.length });
        const outcome = await window.shedSend({
          url: root.dataset.url,
          file,
          name: file.name,
          onProgress: (loaded) => {
            bar.value = (at + loaded / Math.max(1, file.size)) / files.length;
          },
          onWait: (seconds) => {
            part("said").textContent = words("waits", { seconds });
          },
        });
        isSignedOut = outcome.signedOut;
        if (isSignedOut) signedOut(files.slice(at));
        else if (outcome.words) remark(`${file.name}: ${outcome.words}`);
        if (outcome.rests) break;
      }
      part("sending").hidden = true;
      if (isSignedOut) return;
      if (part("refused").hidden) location.reload();
      else window.htmx?.ajax("GET", location.href, { target: "#pile", select: "#pile", selectOOB: "#scans-answer", swap: "outerHTML" });
    }

    input.addEventListener("change", () => {
      const files = [...input.files];
      input.value = "";
      if (files.length) send(files);
    });
    // Anywhere on the page will do: a file that misses would take the page's place.
    const carriesFiles = (event) => event.dataTransfer?.types.includes("Files");
    const mark = (isOver) => root.toggleAttribute("data-dropping", isOver);
    document.addEventListener("dragover", (event) => {
      if (!carriesFiles(event)) return;
      event.preventDefault();
      mark(true);
    });
    document.addEventListener("dragleave", (event) => {
      if (!event.relatedTarget) mark(false);
    });
    document.addEventListener("drop", (event) => {
      if (!carriesFiles(event)) return;
      event.preventDefault();
      mark(false);
      const files = [...event.dataTransfer.files];
      if (files.length) send(files);
    });
  }

  for (const root of document.querySelectorAll("[data-scans]")) start(root);
})();
