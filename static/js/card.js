"use strict";
// A card comes in: a folder or files are chosen or dropped, the server says what it holds, the rest
// goes up two at a time. A whole folder's listing is sent before any file. After a reload the same
// folder is chosen again, and only what is missing is sent.
(() => {
  const words = window.shedWords;
  const AT_ONCE = 2;
  const REFRESH_MS = 2500;

  function start(section) {
    const part = (name) => section.querySelector(`[data-${name}]`);
    const bar = section.querySelector("[data-sending] progress");
    let run = null;

    function say(text) {
      part("told").textContent = text;
    }

    // What was chosen ---------------------------------------------------------------------------

    const below = (path) => path.split("/").slice(1).join("/") || path;

    function chosen(input, whole) {
      const files = Array.from(input.files, (file) => ({
        file,
        name: whole && file.webkitRelativePath ? below(file.webkitRelativePath) : file.name,
      }));
      input.value = "";
      begin(files, whole);
    }

    async function dropped(items) {
      const entries = Array.from(items, (item) => item.webkitGetAsEntry?.()).filter(Boolean);
      const folder = entries.length === 1 && entries[0].isDirectory;
      const files = [];
      for (const entry of entries) await gather(entry, folder ? "" : entry.name, files);
      begin(files, folder);
    }

    async function gather(entry, name, files) {
      if (entry.isFile) {
        files.push({ name, file: await new Promise((settle, fail) => entry.file(settle, fail)) });
        return;
      }
      const reader = entry.createReader();
      for (;;) {
        const some = await new Promise((settle, fail) => reader.readEntries(settle, fail));
        if (!some.length) return;
        for (const one of some) await gather(one, name ? `${name}/${one.name}` : one.name, files);
      }
    }

    // What is here already ----------------------------------------------------------------------

    const told = ({ file, name }) => [name, file.size, file.lastModified || 0];

    async function held(files, whole) {
      const token = JSON.parse(document.body.getAttribute("hx-headers") || "{}");
      const answer = await fetch(section.dataset.heldUrl, {
        method: "POST",
        credentials: "same-origin",
        headers: { ...token, "Content-Type": "application/json" },
        body: JSON.stringify({ files: files.map(told), whole }),
      });
      const isOurs = (answer.headers.get("Content-Type") || "").includes("json");
      if (!isOurs) return { words: words("card_signed_out") };
      return answer.json();
    }

    // Sending -----------------------------------------------------------------------------------

    async function begin(files, whole) {
      if (run && !run.ended) return;
      files.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }));
      part("sending").hidden = false;
      part("troubles").hidden = true;
      part("troubles").querySelector("ul").replaceChildren();
      part("go-on").hidden = true;
      part("stop").hidden = true;
      const most = Number(section.dataset.most);
      if (!files.length) return say(words("card_none"));
      if (files.length > most) return say(words("card_too_many", { count: files.length, most }));
      run = { files, whole, done: 0, sent: new Map(), total: 0, ended: false, stop: new AbortController() };
      await goOn();
    }

    async function goOn() {
      const mine = run;
      mine.ended = false;
      mine.stop = new AbortController();
      part("stop").hidden = false;
      part("go-on").hidden = true;
      say(words("card_looking", { count: mine.files.length }));
      let here;
      try {
        here = await held(mine.files, mine.whole);
      } catch {
        here = { words: words("card_waits", { seconds: "…" }) };
      }
      if (here.words) return rest(here.words);
      const known = new Set(here.held);
      const queue = mine.files.filter((_file, place) => !known.has(place));
      mine.known = known.size;
      mine.done = known.size;
      mine.sent.clear();
      mine.total = queue.reduce((sum, one) => sum + one.file.size, 0);
      mine.began = Date.now();
      mine.refused = 0;
      show();
      await Promise.all(Array.from({ length: AT_ONCE }, () => work(queue)));
      if (mine.rests) return rest(mine.rests);
      end();
    }

    async function work(queue) {
      while (queue.length && !run.stop.signal.aborted) {
        const one = queue.shift();
        const outcome = await window.shedSend({
          url: section.dataset.fileUrl,
          file: one.file,
          name: one.name,
          signal: run.stop.signal,
          onProgress: (bytes) => {
            run.sent.set(one, bytes);
            show();
          },
          onWait: (seconds) => say(words("card_waits", { seconds })),
          isHere: async () => (await held([one], false)).held.length > 0,
        });
        if (outcome.taken) {
          run.done += 1;
          run.sent.set(one, one.file.size);
          refreshSoon();
        } else if (outcome.words) {
          run.sent.set(one, one.file.size);
          run.refused += 1;
          trouble(one.name, outcome.words);
          if (outcome.rests) {
            run.rests = outcome.words;
            run.stop.abort();
          }
        }
        show();
      }
    }

    function trouble(name, text) {
      const line = document.createElement("li");
      const what = document.createElement("strong");
      what.textContent = name;
      line.append(what, `: ${text}`);
      part("troubles").querySelector("ul").append(line);
      part("troubles").hidden = false;
    }

    function show() {
      if (run.stop.signal.aborted) return;
      const sent = Array.from(run.sent.values()).reduce((sum, bytes) => sum + bytes, 0);
      bar.max = run.total || 1;
      bar.value = run.total ? sent : 1;
      const lines = [words("card_sending", { done: run.done, count: run.files.length })];
      if (run.known) lines.push(words("card_known", { count: run.known }));
      const gone = (Date.now() - run.began) / 1000;
      if (gone > 3 && sent && sent < run.total) {
        const left = (gone / sent) * (run.total - sent);
        lines.push(left < 60 ? words("card_seconds") : words("card_minutes", { minutes: Math.ceil(left / 60) }));
      }
      say(lines.join(" · "));
    }

    function rest(text) {
      run.rests = "";
      run.ended = true;
      part("stop").hidden = true;
      part("go-on").hidden = false;
      say(`${words("card_full")} ${text}`);
      refresh();
    }

    function end() {
      run.ended = true;
      part("stop").hidden = true;
      const count = run.files.length;
      if (run.stop.signal.aborted) say(words("card_stopped", { done: run.done, count }));
      else if (run.refused) say(words("card_some", { done: run.done, count }));
      else say(words("card_all", { count }));
      refresh();
    }

    // The contact sheet below fills as files arrive -----------------------------------------------

    let timer = 0;
    function refreshSoon() {
      timer ||= setTimeout(refresh, REFRESH_MS);
    }
    function refresh() {
      clearTimeout(timer);
      timer = 0;
      document.dispatchEvent(new CustomEvent("card:arrived"));
    }

    // Hands -----------------------------------------------------------------------------------------

    const folder = part("folder");
    if (!("webkitdirectory" in folder)) part("folder-way").hidden = true;
    folder.addEventListener("change", () => chosen(folder, true));
    part("files").addEventListener("change", (event) => chosen(event.target, false));
    part("stop").addEventListener("click", () => run?.stop.abort());
    part("go-on").addEventListener("click", goOn);
    const place = part("drop");
    place.addEventListener("dragover", (event) => {
      event.preventDefault();
      place.classList.add("over");
    });
    place.addEventListener("dragleave", () => place.classList.remove("over"));
    place.addEventListener("drop", (event) => {
      event.preventDefault();
      place.classList.remove("over");
      dropped(event.dataTransfer.items);
    });
    window.addEventListener("beforeunload", (event) => {
      if (run && !run.ended) event.preventDefault();
    });
  }

  for (const section of document.querySelectorAll("[data-card-upload]")) start(section);
})();
