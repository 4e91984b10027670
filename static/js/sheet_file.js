"use strict";
// A sheet is sent as soon as it is chosen, with its progress, while one goes on filling in the form.
// Without it, or when it fails, the file goes with the form.
(() => {
  function start(root) {
    const form = root.closest("form");
    const input = root.querySelector("input[type=file]");
    const part = (name) => root.querySelector(`[data-${name}]`);
    const bar = part("sending").querySelector("progress");

    function words(name, values = {}) {
      const text = part("words").content.querySelector(`[data-word="${name}"]`).textContent;
      return text.replace(/\{(\w+)\}/g, (whole, key) => (key in values ? values[key] : whole));
    }

    function say(text, refused) {
      part("sending").hidden = Boolean(refused);
      bar.hidden = !text || Boolean(refused);
      part("said").textContent = refused ? "" : text;
      part("refused").hidden = !refused;
      part("refused").textContent = refused ? text : "";
    }

    function show({ picture, name, shown }) {
      form.elements.picture.value = picture;
      input.value = "";
      part("kept").hidden = false;
      part("kept").querySelector("[data-name]").textContent = name;
      const image = part("kept").querySelector("img");
      image.alt = words("shown");
      image.dataset.making = picture;
      image.dataset.madeUrl = root.dataset.madeUrl;
      image.src = shown;
      form.dispatchEvent(new Event("input", { bubbles: true }));
      document.dispatchEvent(new Event("htmx:load"));
      say(words("kept", { name }));
      bar.hidden = true;
    }

    let sending = null;
    function send(file) {
      sending?.abort();
      const body = new FormData();
      body.append("file", file);
      const call = new XMLHttpRequest();
      sending = call;
      call.open("POST", root.dataset.url);
      call.responseType = "json";
      const token = JSON.parse(document.body.getAttribute("hx-headers") || "{}");
      for (const [key, value] of Object.entries(token)) call.setRequestHeader(key, value);
      call.upload.addEventListener("progress", (event) => {
        if (event.lengthComputable) bar.value = (100 * event.loaded) / event.total;
      });
      call.addEventListener("load", () => {
        if (call.status === 200 && call.response?.picture) show(call.response);
        else if (call.response?.words) {
          input.value = "";
          say(call.response.words, true);
        } else say(words("failed"), true);
      });
      call.addEventListener("error", () => say(words("failed"), true));
      bar.value = 0;
      say(words("sending", { name: file.name }));
      call.send(body);
    }

    input.addEventListener("change", () => {
      if (input.files.length) send(input.files[0]);
    });

    // A draft kept on this tablet knows which picture it was.
    form.addEventListener("draft:restored", () => {
      const picture = form.elements.picture.value;
      if (!picture) return;
      part("kept").hidden = false;
      const image = part("kept").querySelector("img");
      image.alt = words("shown");
      image.src = root.dataset.shownUrl.replace("00000000-0000-0000-0000-000000000000", picture);
    });
  }

  function startAll() {
    for (const root of document.querySelectorAll("[data-sheet-file]:not([data-started])")) {
      root.dataset.started = "";
      start(root);
    }
  }
  startAll();
  document.addEventListener("page:shown", startAll);
})();
