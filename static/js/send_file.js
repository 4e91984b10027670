"use strict";
// One file goes up as the body of its own request, with progress. Without an answer it is tried
// again, with growing pauses, until `signal` says stop; before each further try `isHere` is asked,
// so that what was taken without the answer coming back is not sent twice.
//
//   await window.shedSend({url, file, name, onProgress, onWait, isHere, signal})
//   → {taken: true} | {stopped: true} | {words, rests, signedOut}    rests: no other file will do better now
(() => {
  const words = window.shedWords;
  const pauses = [1, 2, 4, 8, 15, 30];
  const busy = new Set([0, 500, 502, 503, 504]);

  function headers(xhr, { file, name }) {
    const token = JSON.parse(document.body.getAttribute("hx-headers") || "{}");
    for (const [key, value] of Object.entries(token)) xhr.setRequestHeader(key, value);
    xhr.setRequestHeader("Content-Type", "application/octet-stream");
    xhr.setRequestHeader("X-File-Name", encodeURIComponent(wellFormed(name)));
    xhr.setRequestHeader("X-File-Bytes", String(file.size));
    xhr.setRequestHeader("X-File-Modified", String(file.lastModified || 0));
  }

  // A lone surrogate in a name cannot be encoded.
  function wellFormed(name) {
    return name.replace(/[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/g, "\uFFFD");
  }

  function once(job) {
    return new Promise((settle) => {
      const xhr = new XMLHttpRequest();
      const stop = () => xhr.abort();
      xhr.open("POST", job.url);
      headers(xhr, job);
      xhr.upload.addEventListener("progress", (event) => job.onProgress?.(event.loaded));
      xhr.addEventListener("loadend", () => {
        job.signal?.removeEventListener("abort", stop);
        settle({ status: xhr.status, answer: parsed(xhr) });
      });
      job.signal?.addEventListener("abort", stop);
      xhr.send(job.file);
    });
  }

  function parsed(xhr) {
    try {
      return JSON.parse(xhr.responseText);
    } catch {
      return null;
    }
  }

  function pause(seconds, signal) {
    return new Promise((settle) => {
      const timer = setTimeout(settle, seconds * 1000);
      const now = () => {
        clearTimeout(timer);
        settle();
      };
      signal?.addEventListener("abort", now, { once: true });
      window.addEventListener("online", now, { once: true });
    });
  }

  async function known(job) {
    try {
      return await job.isHere?.();
    } catch {
      return false;
    }
  }

  window.shedSend = async (job) => {
    for (let tries = 0; ; tries += 1) {
      if (job.signal?.aborted) return { stopped: true };
      if (tries && (await known(job))) return { taken: true };
      const { status, answer } = await once(job);
      if (job.signal?.aborted) return { stopped: true };
      if (status === 200 && answer) return { taken: true, ...answer };
      if (!busy.has(status) || (status === 500 && tries > 1)) return refused(status, answer);
      const seconds = pauses[Math.min(tries, pauses.length - 1)];
      job.onWait?.(seconds);
      await pause(seconds, job.signal);
    }
  };

  function refused(status, answer) {
    if (answer?.words) return { words: answer.words, rests: status === 507 || status === 409 };
    if (status === 200 || status === 401 || status === 403) return { words: words("card_signed_out"), rests: true, signedOut: true };
    return { words: words("card_broke"), rests: false };
  }
})();
