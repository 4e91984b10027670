"use strict";
// Nothing typed is lost. A form[data-draft] keeps what is typed on this tablet, under the account
// that typed it, and shows it again only to that account. Saving goes by fetch: without a
// connection the form waits and is sent again by itself, with the same record key, so the record is
// one. A draft is removed only when the server has confirmed its record (body[data-saved]).
(() => {
  const words = window.shedWords;
  const account = document.body.dataset.account;
  const prefix = `draft:${account}:`;
  const openFor = 12000; // ms; a form open in another tab renews its mark more often than this
  const tries = [2000, 4000, 8000, 15000];
  const tab = tabName();

  // The shelf: drafts of this account in localStorage -----------------------------------------

  function tabName() {
    try {
      sessionStorage.tab = sessionStorage.tab || Math.random().toString(36).slice(2);
      return sessionStorage.tab;
    } catch {
      return "";
    }
  }

  function keep(draft) {
    try {
      localStorage.setItem(prefix + draft.form + ":" + draft.record, JSON.stringify(draft));
      return true;
    } catch {
      return false;
    }
  }

  function drop(draft) {
    localStorage.removeItem(prefix + draft.form + ":" + draft.record);
    localStorage.removeItem("open:" + draft.record);
  }

  function shelf() {
    const found = [];
    try {
      for (let i = 0; i < localStorage.length; i += 1) {
        const key = localStorage.key(i);
        if (key.startsWith(prefix)) found.push(JSON.parse(localStorage.getItem(key)));
      }
    } catch {
      // A tablet that keeps nothing: the form still works by itself.
    }
    return found.sort((a, b) => b.at - a.at);
  }

  function confirmed(keys) {
    const saved = new Set(keys.split(" ").filter(Boolean));
    for (const draft of shelf()) if (saved.has(draft.record)) drop(draft);
    return saved.size;
  }

  function openElsewhere(draft) {
    const [who, when] = (localStorage.getItem("open:" + draft.record) || " 0").split(" ");
    return who !== tab && Date.now() - Number(when) < openFor;
  }

  function markOpen(record) {
    try {
      localStorage.setItem("open:" + record, `${tab} ${Date.now()}`);
    } catch {
      // Full or closed storage is told when a draft is kept.
    }
  }

  function time(at) {
    const told = /^([+-])(\d\d)(\d\d)$/.exec(document.body.dataset.zoneOffset || "");
    if (!told) return new Date(at).toTimeString().slice(0, 5);
    const minutes = (Number(told[2]) * 60 + Number(told[3])) * (told[1] === "-" ? -1 : 1);
    const there = new Date(at + minutes * 60000).toISOString();
    const today = new Date(Date.now() + minutes * 60000).toISOString().slice(0, 10);
    return there.slice(0, 10) === today ? there.slice(11, 16) : there.slice(0, 16).replace("T", " ");
  }

  // One form ------------------------------------------------------------------------------------

  const bound = new WeakMap();

  function recordField(form) {
    return form.querySelector("[name='id'][data-record-id]") || form.querySelector("[data-record-id]");
  }

  function entries(form, submitter) {
    const data = new FormData(form);
    if (submitter?.name) data.append(submitter.name, submitter.value);
    return data;
  }

  function typed(data) {
    return [...data].filter(([name, value]) => typeof value === "string" && name !== "csrfmiddlewaretoken");
  }

  function sameContent(one, other) {
    const told = (list) => JSON.stringify(list.filter(([name]) => name !== "id" && !name.endsWith("-id")));
    return told(one) === told(other);
  }

  function bind(form, fresh) {
    if (bound.has(form) || !recordField(form)) return;
    const state = { form, timer: 0, waiting: null, start: fresh ? typed(entries(form)) : null, wrote: !fresh };
    bound.set(form, state);
    form.autocomplete = "off"; // the browser's own refilling would bring back an old key
    if (fresh) offer(state);
    form.addEventListener("input", () => note(state));
    form.addEventListener("change", () => note(state));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      send(state, event.submitter);
    });
  }

  function note(state) {
    state.wrote = true;
    clearTimeout(state.timer);
    state.timer = setTimeout(() => remember(state, "typed"), 300);
  }

  function address(form) {
    return new URL(form.getAttribute("action") || location.href, location.href).href;
  }

  function draftOf(state, stage, list) {
    return {
      form: state.form.dataset.draft,
      record: recordField(state.form).value,
      stage,
      at: Date.now(),
      page: location.pathname + location.search,
      action: address(state.form),
      title: document.querySelector("h1").textContent.trim(),
      entries: list,
    };
  }

  function remember(state, stage, data) {
    clearTimeout(state.timer);
    if (!state.wrote && stage === "typed") return;
    if (!state.form.isConnected) return;
    const draft = draftOf(state, stage, typed(data || entries(state.form)));
    if (stage === "typed" && state.start && sameContent(state.start, draft.entries)) {
      drop(draft);
      return;
    }
    markOpen(draft.record);
    if (!keep(draft)) say(state, words("cannot_keep"), true);
  }

  // Showing a kept draft again ------------------------------------------------------------------

  function offer(state) {
    const aside = sessionStorage.aside || "";
    const kept = shelf().filter((draft) => draft.form === state.form.dataset.draft && !openElsewhere(draft));
    const [first, ...others] = kept.filter((draft) => !aside.includes(draft.record));
    if (!first) {
      if (kept.length) notice(state, kept[0], false);
      return;
    }
    if (sameContent(state.start, first.entries)) {
      drop(first);
      return;
    }
    restore(state, first);
    notice(state, first, true, others.length);
    if (first.stage === "queued") attempt(state, formData(first), 0);
  }

  function restore(state, draft) {
    const { form } = state;
    const values = new Map();
    for (const [name, value] of draft.entries) values.set(name, [...(values.get(name) || []), value]);
    const counts = [...values.keys()].filter((name) => name.endsWith("-TOTAL_FORMS"));
    counts.sort((a, b) => a.split("-").length - b.split("-").length);
    for (const name of counts) window.shedRows?.ensure(form, name.replace(/-TOTAL_FORMS$/, ""), Number(values.get(name)[0]));
    for (const control of form.elements) put(control, values);
    window.shedRows?.settle(form);
    for (const fold of form.querySelectorAll("details")) if (filled(fold)) fold.open = true;
    state.wrote = true;
    markOpen(draft.record);
    form.dispatchEvent(new CustomEvent("draft:restored", { bubbles: true }));
  }

  function put(control, values) {
    const { name, type } = control;
    if (!name || name === "csrfmiddlewaretoken" || /-TOTAL_FORMS$/.test(name)) return;
    if (["file", "submit", "button", "reset", "fieldset"].includes(type)) return;
    const given = values.get(name);
    if (type === "checkbox" || type === "radio") control.checked = Boolean(given?.includes(control.value));
    else if (type === "select-multiple") for (const one of control.options) one.selected = Boolean(given?.includes(one.value));
    else if (given?.length) control.value = given.length > 1 ? given.shift() : given[0];
  }

  function filled(fold) {
    return [...fold.querySelectorAll("input, select, textarea")].some((field) =>
      ["checkbox", "radio"].includes(field.type) ? field.checked : field.type !== "hidden" && field.value,
    );
  }

  function button(text, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.addEventListener("click", () => act(made));
    return made;
  }

  function notice(state, draft, shown, more = 0) {
    const block = document.createElement("div");
    block.className = "kept";
    block.setAttribute("role", "status");
    const text = document.createElement("p");
    text.textContent = words(shown ? "kept" : "aside", { time: time(draft.at) }) + (more ? " " + words("more_kept", { count: more }) : "");
    block.append(text);
    if (shown) {
      block.append(button(words("put_aside"), () => leave(draft)), button(words("throw_away"), (pressed) => throwAway(pressed, draft)));
    } else {
      block.append(button(words("show_it"), () => {
        sessionStorage.aside = (sessionStorage.aside || "").replace(draft.record, "");
        location.reload();
      }));
    }
    state.form.before(block);
  }

  function leave(draft) {
    sessionStorage.aside = `${sessionStorage.aside || ""} ${draft.record}`;
    forget();
    location.reload();
  }

  function throwAway(pressed, draft) {
    if (!pressed.dataset.sure) {
      pressed.dataset.sure = "yes";
      pressed.classList.add("act");
      pressed.textContent = words("throw_away_sure");
      return;
    }
    drop(draft);
    forget();
    location.reload();
  }

  // The page is about to be loaded afresh on purpose: do not write its fields back to the shelf.
  let forgetting = false;
  function forget() {
    forgetting = true;
  }

  // Sending ---------------------------------------------------------------------------------------

  function say(state, text, act = false) {
    const told = state.form.querySelector("[data-told]");
    if (!told) return;
    told.textContent = text;
    told.classList.toggle("act-words", act);
  }

  function busy(state, on) {
    for (const one of state.form.querySelectorAll("button[type=submit], button[data-save]")) {
      if (on) one.setAttribute("aria-busy", "true");
      else one.removeAttribute("aria-busy");
    }
    state.sending = on;
  }

  async function post(action, body) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), 30000);
    try {
      const token = JSON.parse(document.body.getAttribute("hx-headers") || "{}");
      return await fetch(action, {
        method: "POST",
        body,
        credentials: "same-origin",
        headers: { ...token, "X-Draft": "1" },
        signal: stop.signal,
      });
    } finally {
      clearTimeout(timer);
    }
  }

  async function send(state, submitter) {
    if (state.sending) return;
    cancelWait(state);
    const data = entries(state.form, submitter);
    state.wrote = true;
    remember(state, "queued", data);
    await attempt(state, data, 0);
  }

  async function attempt(state, data, count) {
    busy(state, true);
    say(state, words("sending"));
    let answer;
    let page;
    try {
      answer = await post(address(state.form), data);
      page = answer.status === 204 ? "" : await answer.text();
    } catch {
      busy(state, false);
      wait(state, data, count, words("no_connection"));
      return;
    }
    busy(state, false);
    if ([502, 503, 504].includes(answer.status)) wait(state, data, count, words("laptop_busy"));
    else take(state, answer, page);
  }

  function take(state, answer, page) {
    const next = answer.headers.get("X-Go-To");
    if (next) {
      forget();
      go(next);
    } else if (answer.redirected) {
      confirmed(parse(page).body.dataset.saved || "");
      forget();
      go(answer.url);
    } else if ([200, 409, 422].includes(answer.status)) {
      show(state, page);
    } else {
      remember(state, "typed");
      const text = { 403: "not_accepted", 404: "gone", 413: "too_large", 429: "too_often" }[answer.status];
      say(state, words(text || "laptop_broke"), true);
    }
  }

  function go(address) {
    const target = new URL(address, location.href);
    const here = target.pathname + target.search === location.pathname + location.search;
    location.assign(target);
    if (here) location.reload();
  }

  // While the answer is unknown the form rests: what is sent again must be what was sent before.
  function wait(state, data, count, text) {
    const pause = tries[Math.min(count, tries.length - 1)];
    for (const part of state.form.children) if (!part.matches(".save-bar")) part.inert = true;
    say(state, text, true);
    if (!state.resume) {
      state.resume = button(words("go_on_writing"), () => {
        cancelWait(state);
        remember(state, "typed");
        say(state, words("still_kept"));
      });
      state.form.querySelector(".save-bar")?.append(state.resume);
    }
    state.waiting = setTimeout(() => attempt(state, data, count + 1), pause);
    state.again = () => {
      clearTimeout(state.waiting);
      attempt(state, data, 0);
    };
    waiters.add(state);
  }

  const waiters = new Set();
  function cancelWait(state) {
    clearTimeout(state.waiting);
    state.again = null;
    waiters.delete(state);
    state.resume?.remove();
    state.resume = null;
    for (const part of state.form.children) part.inert = false;
  }
  window.addEventListener("online", () => {
    for (const state of waiters) if (!state.sending) state.again?.();
  });

  function parse(page) {
    return new DOMParser().parseFromString(page, "text/html");
  }

  // The server's answer to a form that it cannot take yet: the same page, with what to mend.
  function show(state, page) {
    const answer = parse(page);
    const main = answer.querySelector("main");
    if (!main) {
      say(state, words("laptop_broke"), true);
      return;
    }
    remember(state, "typed");
    cancelWait(state);
    confirmed(answer.body.dataset.saved || "");
    document.title = answer.title;
    for (const place of ["h1", "#messages"]) {
      const [old, fresh] = [document.querySelector(place), answer.querySelector(place)];
      if (old && fresh) old.replaceChildren(...[...fresh.childNodes].map((node) => document.importNode(node, true)));
    }
    const here = document.querySelector("main");
    here.replaceChildren(...[...main.childNodes].map((node) => document.importNode(node, true)));
    window.htmx?.process(here);
    window.shedRows?.settle(here);
    for (const form of here.querySelectorAll("form[data-draft]")) bind(form, false);
    here.dispatchEvent(new CustomEvent("page:shown", { bubbles: true }));
    const first = here.querySelector("#errors, #questions") || here;
    first.focus();
    first.scrollIntoView({ block: "start" });
  }

  // On other pages: send what waits, and say what is kept --------------------------------------------

  function formData(draft) {
    const data = new FormData();
    for (const [name, value] of draft.entries) data.append(name, value);
    return data;
  }

  async function sendKept(draft) {
    const answer = await post(draft.action, formData(draft));
    const next = answer.headers.get("X-Go-To") || (answer.redirected ? answer.url : "");
    if (next) {
      const page = await fetch(next, { credentials: "same-origin" });
      if (confirmed(parse(await page.text()).body.dataset.saved || "")) return { ...draft, stage: "sent", page: next };
    }
    const waiting = [502, 503, 504].includes(answer.status);
    const after = { ...draft, stage: waiting ? "queued" : "typed" };
    keep(after);
    return after;
  }

  async function lookElsewhere() {
    const place = document.getElementById("kept-elsewhere");
    if (!place || !account) return;
    const here = new Set([...document.querySelectorAll("form[data-draft]")].map((form) => form.dataset.draft));
    const lines = [];
    let again = false;
    for (const draft of shelf()) {
      if (here.has(draft.form) || openElsewhere(draft)) continue;
      let now = draft;
      if (draft.stage === "queued") {
        try {
          now = await sendKept(draft);
        } catch {
          again = true;
        }
        again = again || now.stage === "queued";
      }
      lines.push(now);
    }
    place.replaceChildren(...lines.slice(0, 3).map(line));
    if (again) setTimeout(lookElsewhere, 10000);
  }

  function line(draft) {
    const block = document.createElement("div");
    block.className = "kept elsewhere";
    const text = document.createElement("p");
    text.textContent = words({ sent: "sent_now", queued: "waits", typed: "unsent" }[draft.stage], { what: draft.title, time: time(draft.at) });
    const link = document.createElement("a");
    link.className = "button";
    link.href = draft.page;
    link.textContent = words("open_it");
    block.append(text, link);
    return block;
  }

  // Start ------------------------------------------------------------------------------------------

  function rememberAll() {
    if (forgetting) return;
    for (const form of document.querySelectorAll("form[data-draft]")) {
      const state = bound.get(form);
      if (state?.wrote && !state.sending && !state.again) remember(state, "typed");
    }
  }

  if (!account) return;
  confirmed(document.body.dataset.saved || "");
  for (const form of document.querySelectorAll("form[data-draft]")) bind(form, !form.querySelector("#errors, #questions"));
  lookElsewhere();
  window.addEventListener("pagehide", () => {
    rememberAll();
    for (const form of document.querySelectorAll("form[data-draft]")) {
      if (bound.has(form)) localStorage.removeItem("open:" + recordField(form).value);
    }
  });
  window.addEventListener("pageshow", (event) => {
    if (event.persisted && forgetting) location.reload();
  });
  document.addEventListener("htmx:load", (event) => {
    for (const form of event.target.querySelectorAll?.("form[data-draft]") || []) {
      bind(form, !form.querySelector("#errors, #questions"));
    }
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "hidden") rememberAll();
  });
  setInterval(() => {
    for (const form of document.querySelectorAll("form[data-draft]")) {
      if (bound.get(form)?.wrote) markOpen(recordField(form).value);
    }
  }, 4000);
})();
