"use strict";
// The words that scripts say, translated by the server: <template id="words"> in the page's foot, and
// <template data-words> of a page's own.
window.shedWords = (name, values = {}) => {
  let found = null;
  for (const shelf of document.querySelectorAll("template#words, template[data-words]")) {
    found ||= shelf.content.querySelector(`[data-word="${name}"]`);
  }
  const text = found ? found.textContent : name;
  return text.replace(/\{(\w+)\}/g, (whole, key) => (key in values ? values[key] : whole));
};
