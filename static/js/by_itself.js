"use strict";
// What a page asks for again and again by itself says so: signed out meanwhile, it must not sweep away what
// one is about. The page says that it rests, until an answer comes again.
(() => {
  let told = null;
  const isByItself = (element) => /\bevery\b/.test(element?.getAttribute?.("hx-trigger") ?? "");

  document.addEventListener("htmx:configRequest", ({ detail }) => {
    if (isByItself(detail.elt)) detail.headers["X-By-Itself"] = "1";
  });
  document.addEventListener("htmx:afterRequest", ({ detail: { elt, successful, xhr } }) => {
    if (!isByItself(elt)) return;
    if (successful) told?.remove();
    else if (xhr.status === 401 && !told?.isConnected) {
      told = window.shedSignedOut();
      document.getElementById("messages").append(told);
    }
  });

  // The words, with a door to sign in by and come back.
  window.shedSignedOut = () => {
    const line = document.getElementById("signed-out").content.firstElementChild.cloneNode(true);
    const door = line.querySelector("a");
    door.href += `?next=${encodeURIComponent(location.pathname + location.search)}`;
    return line;
  };
})();
